"""What the program says of every rig is as kept. It changes with a rule, a figure or a word, and with nothing else."""

from .answering import GOLDEN, page


def test_every_answer_is_as_kept() -> None:
    kept, now = ({line[17:]: line[:16] for line in text.splitlines()} for text in (GOLDEN.read_text("utf-8"), page()))
    others = [name for name in now if now[name] != kept.get(name)] + [name for name in kept if name not in now]
    assert not others, (
        f"{len(others)} answers have changed, such as {others[:5]}. To see how, run `python -m tests.answers"
        " FOLDER` here and in a checkout of the last commit and compare the two; if it is meant,"
        " `python -m tests.golden`"
    )
