"""Writes tutorial/notebook.md from the notebook beside it, run from top to bottom."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient

FOLDER = Path(__file__).parent / "tutorial"
NOTEBOOK = FOLDER / "notebook.ipynb"
PAGE = FOLDER / "notebook.md"
NOTE = "\n\nThis page is [a notebook](notebook.ipynb), run; download it and go on from there.\n"


def run_notebook() -> Any:
    """The notebook with its outputs; a cell that fails stops it."""
    book = nbformat.read(NOTEBOOK, as_version=4)
    here = {"metadata": {"path": str(FOLDER)}}
    NotebookClient(book, timeout=300, kernel_name="python3", resources=here).execute()
    return book


def page(book: Any) -> str:
    """The notebook as a page: words, code, and what came of it."""
    parts = []
    for cell in book["cells"]:
        source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            parts.append(source)
            continue
        parts.append(f"```python\n{source}\n```")
        parts += [_output(one) for one in cell["outputs"]]
    title, *rest = parts
    return "\n\n".join([title + NOTE.rstrip(), *rest]) + "\n"


def _output(output: Any) -> str:
    if output["output_type"] == "stream":
        return f"```text\n{output['text'].rstrip()}\n```"
    data = output["data"]
    if "text/html" in data and "<svg" in data["text/html"]:
        # no blank line inside, or the rest would be taken for words
        html = "\n".join(line for line in data["text/html"].splitlines() if line.strip())
        return f'<div class="notebook-output" markdown="0">\n{html}\n</div>'
    return f"```text\n{data['text/plain'].rstrip()}\n```"


def code_cells() -> list[str]:
    """The code of the notebook, cell by cell."""
    book = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    return ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code"]


if __name__ == "__main__":
    PAGE.write_text(page(run_notebook()), encoding="utf-8")
