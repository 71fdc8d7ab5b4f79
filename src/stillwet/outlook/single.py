"""The drying kernel's own functions in single precision, from their own source.

Every number written in `series`, `wet_air`, `wet_face` and `sun_grid` is double, and one double
makes the whole sum double. Here the source of the scalar functions is read, every number in it and
every constant it names is made single, and the result is compiled anew: for this processor, or for
a graphics card by another compiler handed in. So there is one formula and one place to mend it.
"""

from __future__ import annotations

import ast
import inspect
import math
import textwrap
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np

from stillwet.physics import series, sun_grid, wet_air, wet_face

_FROM_SERIES = (
    "poly4",
    "poly6",
    "poly8",
    "poly10",
    "poly16",
    "inverse_cube_root",
    "inverse_fifth_root",
)
_FROM_AIR = (
    "vapour_density",
    "vapour_density_and_slope",
    "air_of",
    "plate_powers",
    "forced_on_plate",
    "forced_on_cylinder",
)
_FROM_FACE = (
    "twelfth_root",
    "twelfth_root_of_rise",
    "rough_root_of_rise",
    "blend",
    "coefficient_and_slope",
    "exchange_of",
    "latent_heat_and_slope",
    "guarded",
    "first_rise",
    "halley_step",
)
_FROM_SUN = (
    "sun_over",
    "split_erbs",
    "clear_global_ineichen",
    "cloud_transmission",
    "light_on_face",
    "longwave_of_sky",
)


class _Narrow(ast.NodeTransformer):
    """Puts every number of an expression in single precision; annotations and texts are dropped."""

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        if isinstance(node.value, bool) or not isinstance(node.value, int | float):
            return node
        return ast.copy_location(
            ast.Call(ast.Name("single", ast.Load()), [ast.Constant(float(node.value))], []), node
        )

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        return node  # the place of a coefficient is a whole number

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        assert node.value is not None
        plain = ast.Assign([node.target], self.visit(node.value))
        return ast.copy_location(plain, node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.decorator_list, node.returns = [], None
        for argument in node.args.args:
            argument.annotation = None
        node.body = [self.visit(part) for part in node.body[1:]]
        return node


def _narrowed(value: Any) -> Any:
    """A constant in single precision; everything else as it is."""
    if isinstance(value, tuple):
        return tuple(_narrowed(part) for part in value)
    if isinstance(value, float | int) and not isinstance(value, bool):
        return np.float32(value)
    return value


def single_forms(compile_inline: Callable[[Any], Any]) -> SimpleNamespace:
    """The scalar functions of `wet_air`, `wet_face` and `sun_grid` in single precision.

    compile_inline: what makes a plain function callable from the caller's compiled code.
    """
    made: dict[str, Any] = {"single": np.float32, "math": math}
    for module, names in (
        (series, _FROM_SERIES),
        (wet_air, _FROM_AIR),
        (wet_face, _FROM_FACE),
        (sun_grid, _FROM_SUN),
    ):
        constants = {
            key: _narrowed(value)
            for key, value in vars(module).items()
            if isinstance(value, float | int | tuple) and not key.startswith("__")
        }
        for name in names:
            source = textwrap.dedent(inspect.getsource(getattr(module, name).py_func))
            tree = ast.fix_missing_locations(_Narrow().visit(ast.parse(source)))
            space = {**constants, **made}
            exec(compile(tree, f"<single {name}>", "exec"), space)
            made[name] = compile_inline(space[name])
    return SimpleNamespace(**{name: made[name] for name in (*_FROM_AIR, *_FROM_FACE, *_FROM_SUN)})
