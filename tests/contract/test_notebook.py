"""The notebook runs, and the page made from it is that notebook."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

DOCS = Path(__file__).parents[2] / "docs"


def _maker() -> ModuleType:
    path = DOCS / "make_notebook_page.py"
    spec = importlib.util.spec_from_file_location("make_notebook_page", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_has_the_notebooks_code() -> None:
    """Every code cell stands on the page, in order; ``make docs`` writes it."""
    maker = _maker()
    shown = (DOCS / "tutorial" / "notebook.md").read_text(encoding="utf-8")
    places = [shown.find(f"```python\n{code}\n```") for code in maker.code_cells()]
    assert len(places) >= 8
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.slow
def test_the_notebook_runs() -> None:
    """From top to bottom in a fresh kernel: a plan as map and table, the demand as a figure."""
    code = f"import sys; sys.path.insert(0, {str(DOCS)!r}); import make_notebook_page as maker; "
    code += "sys.stdout.reconfigure(encoding='utf-8'); print(maker.page(maker.run_notebook()))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.count("<svg") >= 3
    assert "<table>" in done.stdout
    assert "Escape route and safety zone first" in done.stdout
