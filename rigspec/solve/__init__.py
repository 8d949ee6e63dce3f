"""Physics: one file per physical question, floats with their units in the name, no places in text, no rules."""
