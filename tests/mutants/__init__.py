"""How much the tests see: ``python -m tests.mutants ROOM`` breaks one thing of a room at a time and runs its tests."""
