"""Seeded mistakes: single-edit mutants of the clean samples, a judge of its own, and what the checker finds of them."""
