"""Tests of the reports room."""
