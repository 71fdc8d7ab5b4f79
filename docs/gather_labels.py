"""Gathers the words inside screens and sheets: on a button, beside a field, over a column.

A label is a piece of text of at most five words that does not end a sentence; longer pieces and
sentences are told from one another by what they say, not by a name, and are left out. What is
filled in stands as {}. For make_origins.py.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from pathlib import Path

from stillwet.exchange.typed_rows import CHECK_FORM, TRIAL_FORM
from stillwet.services.draft_form import desk_form
from stillwet.web.show import NAVIGATION

PACKAGE = Path(__file__).parent.parent / "src" / "stillwet"
MOST_WORDS = 5
SPOKEN = ("aria-label", "alt", "placeholder")  # attributes that a reader hears or sees
# Headings are gathered as titles; the others hold sentences.
NOT_LABELS = frozenset({"h1", "h2", "h3", "title", "p", "li", "code", "strong"})
BETWEEN = "\n\n"  # where a template chooses or repeats, one text ends and the next begins
# Calls of a sheet whose words are labels: heads, boxes, lines to fill in, boxes to tick.
CALLS = re.compile(
    r"(?:head|boxed|fields|lines|choose|empty-rows|table\.header|strong)\(|(?:heads|dry) = \("
)
TEXT = re.compile(r'"((?:[^"\\]|\\.)*)"')
# Constants of a report that hold the heads of a table, and keys whose value heads a box.
TABLES = frozenset({"_COLUMNS", "_HEADS", "_SEGMENTS", "_HOURS"})
HEADS = frozenset({"head", "use_heads", "use_of"})
NOT_FOR_PEOPLE = frozenset({"plan_csv.py", "crew_tracks.py"})  # columns stand in the vocabulary


def on_screens() -> set[str]:
    """Labels of the pages: from templates, from every words.js, and from the forms."""
    found = [name for _, name, _ in NAVIGATION]
    for path in sorted((PACKAGE / "web" / "templates").glob("*.html")):
        found += of_template(path.read_text(encoding="utf-8"))
    for path in sorted((PACKAGE / "web" / "static" / "js").glob("*/words.js")):
        found += of_script(path.read_text(encoding="utf-8"))
    found += [one.says for one in (*TRIAL_FORM, *CHECK_FORM)]
    return labels((*found, *_of_desk()))


def on_sheets() -> set[str]:
    """Labels of printed sheets and reports: heads of columns, boxes, lines to fill in."""
    found: list[str] = []
    for path in sorted((PACKAGE / "reports" / "sheets").glob("*.typ")):
        found += of_sheet(path.read_text(encoding="utf-8"))
    for path in sorted((PACKAGE / "reports").glob("*.py")):
        if path.name not in NOT_FOR_PEOPLE:
            found += of_report(path.read_text(encoding="utf-8"))
    return labels(found)


def labels(texts: Iterable[str]) -> set[str]:
    """Those of the texts that are labels."""
    tidy = (" ".join(text.split()).strip(" :,;+=") for text in texts)
    return {text for text in tidy if _is_label(text)}


def _is_label(text: str) -> bool:
    words = text.replace("{}", " ").split()
    has_letters = re.search(r"[A-Za-z]{2}", text) is not None and "/crew" not in text
    return has_letters and len(words) <= MOST_WORDS and not text.endswith(".")


def of_template(text: str) -> list[str]:
    """Texts of a template that stand on or beside something to press, fill in or look up."""
    given = re.findall(r"\{% for \w+, word in \((.+)\) %\}", text)
    found = [word for pairs in given for word in re.findall(r'"[^"]*", "([^"]*)"', pairs)]
    reader = _Template()
    reader.feed(re.sub(r"\{%.*?%\}", BETWEEN, re.sub(r"\{\{.*?\}\}", "{}", text)))
    return [*found, *reader.found]


class _Template(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for name, value in attrs if name in SPOKEN and value]
        if tag not in ("link", "meta", "input", "img", "br"):
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] not in NOT_LABELS:
            self.found += data.split(BETWEEN)


def of_script(text: str) -> list[str]:
    """Texts of a words.js, without the names that its entries go by."""
    plain = re.sub(r"/\*.*?\*/|^import .*?$|^\s*//.*?$", "", text, flags=re.DOTALL | re.MULTILINE)
    return list(_script_texts(plain))


def _script_texts(text: str) -> Iterator[str]:
    at = 0
    while at < len(text):
        if text[at] == '"':
            end = text.index('"', at + 1)
            if text[end + 1 : end + 2] != ":":
                yield text[at + 1 : end]
            at = end
        elif text[at] == "`":
            said, at = _filled(text, at + 1)
            yield said
        at += 1


def _filled(text: str, at: int) -> tuple[str, int]:
    """A template literal from its first character, {} where something is filled in; its end."""
    said, deep = "", 0
    while text[at] != "`" or deep:
        if text.startswith("${", at):
            said += "" if deep else "{}"
            deep += 1
        elif text[at] == "}" and deep:
            deep -= 1
        elif not deep:
            said += text[at]
        at += 1
    return said, at


def of_sheet(text: str) -> list[str]:
    """Texts of a sheet inside the calls and lists that hold its labels."""
    parts = (text[found.end() : _closing(text, found.end())] for found in CALLS.finditer(text))
    return [told for part in parts for told in TEXT.findall(part)]


def _closing(text: str, at: int) -> int:
    deep = 1
    while deep:
        deep += {"(": 1, ")": -1}.get(text[at], 0)
        at += 1
    return at


def of_report(text: str) -> list[str]:
    """Texts of a report's module that head a column, a box or a value, or name part of a figure."""
    return [told for node in ast.walk(ast.parse(text)) for told in _of_node(node)]


def _of_node(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Assign) and _is_table(node):
        yield from _texts(node.value.values if isinstance(node.value, ast.Dict) else [node.value])
    elif isinstance(node, ast.Tuple | ast.List) and len(node.elts) == 2:
        yield from (told for told in _texts(node.elts[:1]) if told[:1].isupper())
    elif isinstance(node, ast.Dict):
        pairs = zip(node.keys, node.values, strict=True)
        yield from _texts(value for key, value in pairs if _is_head(key))
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "words":
        yield from _texts(node.args)


def _is_table(node: ast.Assign) -> bool:
    return any(isinstance(one, ast.Name) and one.id in TABLES for one in node.targets)


def _is_head(key: ast.expr | None) -> bool:
    return isinstance(key, ast.Constant) and key.value in HEADS


def _texts(nodes: Iterable[ast.expr]) -> Iterator[str]:
    for node in nodes:
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            yield "".join(next(_texts([part]), "{}") for part in node.values)
        elif isinstance(node, ast.Tuple | ast.List):
            yield from _texts(node.elts)
        elif isinstance(node, ast.IfExp):
            yield from _texts([node.body, node.orelse])


def _of_desk() -> Iterator[str]:
    for step in desk_form("us")["steps"]:
        yield step["title"]
        for part in step["parts"]:
            yield part.get("title", "")
            yield from (field["label"] for side in ("main", "more") for field in part.get(side, ()))
