"""What the parser could take next, by the saved tables."""

from __future__ import annotations

from rigspec.language.tables import END, RULES, STATES


def accepts(states: list[int], terminal: str) -> bool:
    """Could the parser take this terminal next? Reductions are tried on a copy of the stack of states."""
    stack = list(states)
    while True:
        action = STATES[stack[-1]].get(terminal)
        if action is None:
            return False
        if action >= 0:
            return True
        made, _, size = RULES[-1 - action]
        del stack[-size:]
        stack.append(STATES[stack[-1]][made])
        if stack[-1] == END:
            return terminal == "$END"
