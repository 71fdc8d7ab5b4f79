"""Tests of the job file."""
