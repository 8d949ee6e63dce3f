"""rigspec: a plain-text language for loudspeaker rigs, its checker and its formatter."""

__version__ = "0.1.0"
