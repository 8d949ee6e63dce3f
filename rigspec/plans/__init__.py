"""Which plan: several rigs side by side."""
