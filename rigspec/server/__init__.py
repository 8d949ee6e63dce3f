"""The language server: what an editor asks about a rig while it is written.

The files here give plain values for a text and an offset; `protocol.py` and `wire.py` alone know the protocol. Findings
and figures come from the same `check` as on the command line.
"""
