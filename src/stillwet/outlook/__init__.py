"""Drying demand and hold time over forecast grids."""
