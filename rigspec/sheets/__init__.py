"""Sheets for the crew, as values: what to pull, what to plug where, what to set, what to measure and to check."""
