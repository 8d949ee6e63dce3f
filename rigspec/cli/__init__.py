"""The command line: the room that touches files, terminals and processes."""
