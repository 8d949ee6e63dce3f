"""JSON that every reader and every terminal takes."""


def dump(value: object) -> str:
    """The value as indented ASCII JSON with a line end.

    Half of a surrogate pair (from a path that is not UTF-8) becomes U+FFFD: strict readers refuse it.
    """
    import json
    import re

    text = json.dumps(value, indent=2)
    if "\\ud" in text:
        # An escaped backslash and a whole pair are kept as they are: they are there so that neither is cut in two.
        kept = r"\\\\|\\ud[89ab]..\\ud[c-f].."
        text = re.sub(rf"({kept})|\\ud[89a-f]..", lambda found: found[1] or "\\ufffd", text)
    return text + "\n"
