"""How an outlook is cut into blocks of cells, so that each fits the memory it is given."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stillwet.outlook.ask import Ask
from stillwet.outlook.grid import Grid

_INPUT_ARRAYS = 16  # arrays of hours by members that a block holds at its worst moment
_DEMAND_ARRAYS = 3  # arrays of faces by hours (by members): light, demand and what is made of it
_ANSWER_BYTES = 6 * 4
_LARGEST_BYTES = 256 * 2**20  # more only makes results come later
_FEWEST_CELLS = 64  # the kernel's own block


@dataclass(frozen=True, slots=True)
class Block:
    """Some rows and columns of the grid."""

    row: int
    row_end: int
    column: int
    column_end: int

    @property
    def name(self) -> str:
        """A name for its marker."""
        return f"r{self.row}-c{self.column}"

    @property
    def cells(self) -> int:
        """Number of cells."""
        return (self.row_end - self.row) * (self.column_end - self.column)


@dataclass(frozen=True, slots=True)
class Layout:
    """The size of a block in rows and columns, on a grid of this height and width."""

    height: int
    width: int
    rows: int
    columns: int

    def blocks(self) -> Iterator[Block]:
        """Every block, row by row."""
        for row in range(0, self.height, self.rows):
            for column in range(0, self.width, self.columns):
                yield Block(
                    row,
                    min(row + self.rows, self.height),
                    column,
                    min(column + self.columns, self.width),
                )

    @property
    def count(self) -> int:
        """Number of blocks."""
        return -(-self.height // self.rows) * -(-self.width // self.columns)


def bytes_a_cell(grid: Grid, ask: Ask) -> int:
    """Memory that one cell takes while its block is reckoned [bytes]."""
    hours, members, faces = grid.hours_s.size, grid.members, len(ask.faces)
    return hours * (8 * members * (_INPUT_ARRAYS + _DEMAND_ARRAYS * faces) + _ANSWER_BYTES * faces)


def choose_layout(grid: Grid, ask: Ask, *, memory_bytes: int, workers: int) -> Layout:
    """Blocks that fit a quarter of each worker's memory; whole rows of the grid where they can."""
    share = min(memory_bytes // (4 * max(workers, 1)), _LARGEST_BYTES)
    cells = max(share // bytes_a_cell(grid, ask), _FEWEST_CELLS)
    cells = min(cells, max(grid.cells // (4 * workers), _FEWEST_CELLS))
    columns = min(grid.width, cells)
    rows = min(grid.height, max(1, cells // columns))
    return Layout(grid.height, grid.width, rows, columns)
