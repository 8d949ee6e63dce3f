"""What can keep a command from running at all."""


class CannotRunError(Exception):
    """The command cannot run; the words are one sentence for the engineer, lower case, no full stop."""


class UsageError(Exception):
    """The command line cannot be understood.

    ``at`` is the number of the argument that is wrong, from 0, or the argument itself; None says that the whole is.
    """

    def __init__(self, at: int | str | None, message: str, help: str = "") -> None:
        super().__init__(message)
        self.at, self.message, self.help = at, message, help
