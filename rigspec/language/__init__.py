"""What a text says: tokens, statements, nodes, settings, and the one canonical form."""
