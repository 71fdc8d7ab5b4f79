"""The faults that may be planted in a module, and a seeded draw of them.

The operators are mutmut's. Drawn and told apart because almost any test notices them, so that they
would flatter the share found: a value or an argument replaced by None ("emptied"). Left out because
words are read by the tests of pages and sheets: faults in strings. Added: a decimal number made a
tenth larger, which is the slip that physics suffers. Unlike mutmut's own runs, decorated functions
(properties, compiled kernels) are planted in as well.
"""

from __future__ import annotations

import ast
import hashlib
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import libcst as cst
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.file_mutation import MutationVisitor
from mutmut.mutation.mutators import mutation_operators
from mutmut.mutation.pragma_handling import get_ignored_lines

WEIGHTS = {"arithmetic": 3, "number": 3, "logic": 3, "argument": 1}  # how often a kind is drawn
EMPTIED = "emptied"
LOGIC = (
    cst.ComparisonTarget,
    cst.BooleanOperation,
    cst.IfExp,
    cst.Name,
    cst.Break,
    cst.Continue,
)
LEAST = 2  # drawn of every module that has so many


@dataclass(frozen=True)
class Mutant:
    """One planted fault; ``lines`` are those of its statement, ``near`` those of its function."""

    name: str
    module: str  # path under the root
    kind: str
    line: int
    lines: tuple[int, ...]
    near: tuple[int, ...]
    before: str
    after: str
    code: str

    @property
    def room(self) -> str:
        """Physics or engine."""
        return Path(self.module).parent.name

    @property
    def at_import(self) -> bool:
        """True where the line runs as the module is imported, outside any function."""
        return not self.near


class _Visitor(MutationVisitor):
    """Mutmut's visitor, let into decorated functions."""

    def _skip_node_and_children(self, node: cst.CSTNode) -> bool:
        if isinstance(node, cst.FunctionDef):
            return False
        return bool(super()._skip_node_and_children(node))


def kind_of(before: cst.CSTNode, after: cst.CSTNode) -> str | None:
    """The kind of a fault, or None for one that is left out."""
    if isinstance(before, cst.BaseNumber):
        return "number"
    if isinstance(before, cst.BinaryOperation | cst.AugAssign):
        return "arithmetic"
    if isinstance(before, cst.UnaryOperation):
        return "logic" if isinstance(before.operator, cst.Not) else "arithmetic"
    if isinstance(before, cst.Call) and isinstance(after, cst.Call):
        if len(after.args) < len(before.args):
            return "argument"
        return EMPTIED if after.func is before.func and before.args else None
    if isinstance(before, cst.Assign | cst.AnnAssign | cst.Lambda):
        return EMPTIED
    return "logic" if isinstance(before, (*LOGIC, cst.BaseCompOp)) else None


class Module:
    """One module and every fault that may be planted in it."""

    def __init__(self, root: Path, path: Path) -> None:
        self.name = path.relative_to(root).as_posix()
        self.text = path.read_text(encoding="utf-8")
        self.wrapper = MetadataWrapper(cst.parse_module(self.text))
        ignored = get_ignored_lines(str(path), self.text, self.wrapper, None)
        visitor = _Visitor(mutation_operators, ignored)
        self.wrapper.visit(visitor)
        self.places = self.wrapper.resolve(PositionProvider)
        self.spans = _Spans(ast.parse(self.text))
        pairs = [(each.original_node, each.mutated_node) for each in visitor.mutations]
        pairs += [(node, _tenth_more(node)) for node, _ in pairs if _is_decimal(node)]
        self.faults: dict[str, list[tuple[cst.CSTNode, cst.CSTNode]]] = defaultdict(list)
        for before, after in pairs:
            kind = kind_of(before, after)
            if kind is not None and before in self.places and not self._is_type(before):
                self.faults[kind].append((before, after))

    def __len__(self) -> int:
        return sum(len(self.faults[kind]) for kind in WEIGHTS)

    def _is_type(self, node: cst.CSTNode) -> bool:
        """True for a union of types outside any function."""
        bars = isinstance(node, cst.BinaryOperation) and isinstance(node.operator, cst.BitOr)
        return bars and not self.spans.function(self.places[node].start.line)

    def span(self, node: cst.CSTNode) -> list[str]:
        """The lines a node stands in: what is left out of a call may be far below its name."""
        place = self.places[node]
        lines = self.text.splitlines()[place.start.line - 1 : place.end.line]
        return [line.strip() for line in lines]

    def planted(self, kind: str, before: cst.CSTNode, after: cst.CSTNode) -> Mutant:
        """The module with one fault in it."""
        mutated = self.wrapper.module.deep_replace(before, after)
        code = mutated.code if isinstance(mutated, cst.Module) else ""
        old, new = _changed(self.text, code)
        start = self.places[before].start
        key = f"{self.name}|{old}|{new}|{start.column}"
        return Mutant(
            name=hashlib.sha256(key.encode()).hexdigest()[:8],
            module=self.name,
            kind=kind,
            line=start.line,
            lines=self.spans.statement(start.line),
            near=self.spans.function(start.line),
            before=old,
            after=new,
            code=code,
        )

    def drawn(self, wanted: int, chance: random.Random) -> Iterator[Mutant]:
        """Some of the faults: the kind first, then one of it, none twice."""
        left = {kind: list(self.faults[kind]) for kind in sorted(WEIGHTS) if self.faults[kind]}
        for _ in range(min(wanted, len(self))):
            kind = chance.choices(list(left), [WEIGHTS[each] for each in left])[0]
            yield self.planted(kind, *left[kind].pop(chance.randrange(len(left[kind]))))
            if not left[kind]:
                del left[kind]


def _is_decimal(node: cst.CSTNode) -> bool:
    """True for a decimal number that a tenth more of changes."""
    return isinstance(node, cst.Float) and node.evaluated_value != 0.0


def _tenth_more(node: cst.CSTNode) -> cst.CSTNode:
    number = cst.ensure_type(node, cst.Float)
    return number.with_changes(value=repr(number.evaluated_value * 1.1))


def _changed(code: str, planted: str) -> tuple[str, str]:
    """The lines that differ, joined and stripped."""
    old, new = code.splitlines(), planted.splitlines()
    first = next((i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), 0)
    last = 0
    while last < min(len(old), len(new)) - first and old[-1 - last] == new[-1 - last]:
        last += 1
    return (
        " ".join(text.strip() for text in old[first : len(old) - last]),
        " ".join(text.strip() for text in new[first : len(new) - last]),
    )


class _Spans:
    """Which lines belong to the statement and to the function around a line."""

    def __init__(self, tree: ast.Module) -> None:
        self.statements = [node for node in ast.walk(tree) if isinstance(node, ast.stmt)]
        self.functions = [node for node in self.statements if isinstance(node, ast.FunctionDef)]

    def statement(self, line: int) -> tuple[int, ...]:
        """Lines of the smallest statement around a line; of a compound one, those of its head."""
        around = [each for each in self.statements if each.lineno <= line <= _end(each)]
        if not around:
            return (line,)
        smallest = min(around, key=lambda each: _end(each) - each.lineno)
        body = getattr(smallest, "body", None)
        end = body[0].lineno - 1 if body else _end(smallest)
        return tuple(range(smallest.lineno, max(end, smallest.lineno) + 1))

    def function(self, line: int) -> tuple[int, ...]:
        """Lines of the outermost function around a line, without its head."""
        around = [each for each in self.functions if each.lineno <= line <= _end(each)]
        if not around:
            return ()
        outer = max(around, key=lambda each: _end(each) - each.lineno)
        return tuple(range(outer.body[0].lineno, _end(outer) + 1))


def _end(node: ast.stmt) -> int:
    return node.end_lineno or node.lineno


@dataclass(frozen=True)
class Draw:
    """Some faults, and how many of each kind there are in all."""

    mutants: list[Mutant]
    numbers: dict[str, int]


def draw(root: Path, rooms: tuple[str, ...], count: int, emptied: int, seed: int) -> Draw:
    """About ``count`` faults, by the sizes of modules, and as many emptied ones as asked for."""
    modules = [Module(root, path) for room in rooms for path in sorted((root / room).glob("*.py"))]
    everything = sum(len(each) for each in modules)
    least = LEAST if count else 0
    chance = random.Random(seed)
    drawn = [
        mutant
        for module in modules
        for mutant in module.drawn(max(least, round(count * len(module) / everything)), chance)
    ]
    empty = [(module, pair) for module in modules for pair in module.faults[EMPTIED]]
    chosen = random.Random(seed).sample(empty, min(emptied, len(empty)))
    drawn += [module.planted(EMPTIED, *pair) for module, pair in chosen]
    kinds = (*WEIGHTS, EMPTIED)
    numbers = {kind: sum(len(each.faults[kind]) for each in modules) for kind in kinds}
    return Draw(list({mutant.name: mutant for mutant in drawn}.values()), numbers)


def find(root: Path, wanted: dict[str, dict[str, tuple[str, str]]]) -> list[Mutant]:
    """The faults of these names, by module, each with its kind and the lines it stood in."""
    found = []
    for module, names in wanted.items():
        whole = Module(root, root / module)
        for kind, pairs in whole.faults.items():
            tolds = [text for own, text in names.values() if own == kind]
            for before, after in pairs:
                lines = whole.span(before)
                if any(not told or line in told for told in tolds for line in lines):
                    mutant = whole.planted(kind, before, after)
                    found += [mutant] if mutant.name in names else []
    return found
