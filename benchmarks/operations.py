"""How much arithmetic the drying kernel's scalar functions hold, counted in their own source."""

from __future__ import annotations

import ast
import inspect
import textwrap
from dataclasses import dataclass
from typing import Any

from stillwet.physics import kernel, series, sun_grid, wet_air, wet_face

_ROOTS = ("sqrt", "exp", "log", "tan", "sin", "cos", "atan2", "single")


@dataclass(frozen=True, slots=True)
class Operations:
    """Additions, multiplications and comparisons; divisions; roots, powers and functions."""

    plain: int = 0
    divisions: int = 0
    functions: int = 0

    def __add__(self, other: Operations) -> Operations:
        return Operations(
            self.plain + other.plain,
            self.divisions + other.divisions,
            self.functions + other.functions,
        )

    def times(self, count: int) -> Operations:
        """So many of them."""
        return Operations(self.plain * count, self.divisions * count, self.functions * count)

    @property
    def flops(self) -> int:
        """All, a division or a function counted as one: what the formula asks for, no more."""
        return self.plain + self.divisions + self.functions


def operations_of(name: str) -> Operations:
    """The operations of one call of a scalar function, the ones it calls included."""
    function: Any = next(
        getattr(room, name) for room in (series, wet_air, wet_face, sun_grid) if hasattr(room, name)
    )
    tree = ast.parse(textwrap.dedent(inspect.getsource(function.py_func)))
    total = Operations()
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp | ast.AugAssign):
            if isinstance(node, ast.BinOp) and _is_number(node.left) and _is_number(node.right):
                continue  # reckoned once, when compiled
            if isinstance(node.op, ast.Div):
                total += Operations(divisions=1)
            elif isinstance(node.op, ast.Pow):
                total += Operations(functions=1)
            elif not isinstance(node.op, ast.BitOr):
                total += Operations(plain=1)
        elif isinstance(node, ast.Compare):
            total += Operations(plain=1)
        elif isinstance(node, ast.Call):
            total += _of_call(node)
    return total


def _is_number(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant)


def _of_call(node: ast.Call) -> Operations:
    called = node.func
    label = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
    if label in ("max", "min"):
        return Operations(plain=1)
    if label in _ROOTS:
        return Operations(functions=1)
    return operations_of(label)


def of_a_face_hour() -> Operations:
    """One face, one hour, one cell: the starts and steps of the balance and the wind's part."""
    own = Operations(plain=8, divisions=1)  # incoming radiation and conductance, in the loop itself
    starts = operations_of("first_rise") + operations_of("rough_root_of_rise")
    parts = ("vapour_density_and_slope", "coefficient_and_slope", "halley_step")
    steps = sum((operations_of(name) for name in parts), Operations()).times(kernel.STEPS)
    roots = operations_of("twelfth_root_of_rise").times(kernel.STEPS - 1)
    forced = operations_of("forced_on_plate")
    return starts.times(kernel.STARTS) + steps + roots + forced + own


def of_the_air() -> Operations:
    """The air of a cell and hour, without sun and sky."""
    return operations_of("air_of")


def of_an_hour() -> Operations:
    """What the faces of a cell share in an hour: air, sun and sky."""
    parts = ("air_of", "sun_over", "split_erbs", "clear_global_ineichen", "longwave_of_sky")
    return sum((operations_of(name) for name in parts), Operations())


if __name__ == "__main__":
    print("a face-hour:", of_a_face_hour(), of_a_face_hour().flops)
    print("an hour:", of_an_hour(), of_an_hour().flops)
    print("a face's light:", operations_of("light_on_face").flops)
