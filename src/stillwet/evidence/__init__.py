"""Trials: observations become fits with their uncertainty, and what to try next."""
