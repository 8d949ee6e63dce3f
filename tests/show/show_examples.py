"""A rig with slips of every shape, and arbitrary findings about arbitrary texts."""

from hypothesis import strategies as st

from rigspec.text.finding import Edit, Finding, Fix, Label, Severity
from rigspec.text.source import Source, Span

RIG = Source(
    "parade/bandstand 2.rig",
    """\
rig "Lantern parade, bandstand" { mains 230 V 50 Hz; air 14 degC }
use "stock/house.rig"

feed bass_send { level 4 dBu; peak 18 dBu; source 100 ohm; band 35 Hz to 95 Hz }
amp  bass is twin-900
speaker sub[1..2] is reflex-18 { at -4 m, 0 m }
speaker sub[3..4] is reflex-18 {
\tat 4 m, 0 m
}

bass_send ->           bass.1 -> lead 2.5 mm2 15 m -> sub[1..2] linked 2.5 mm2 2 m
bass_send -> invert -> bass.2 -> lead 2.5 mm2 15 m -> sub[3..4] linked 2.5 mm2 2 m

group subs: sub[*] {
""",
)
STOCK = Source("stock/house.rig", "# what the house owns\nstock amp twin-900 {\n\tchannels 2; least load 4 ohm\n}\n")


def place(source: Source, text: str, before: str = "") -> Span:
    """Where ``text`` stands, the first time or the first time behind ``before``."""
    start = source.text.index(text, source.text.index(before) + len(before))
    return Span(source, start, start + len(text))


WRONG_WAY = place(RIG, "sub[3..4]", "bass.2")

CLASH = Finding(
    rule="polarity-clash",
    span=WRONG_WAY,
    message="sub[3..4] push against sub[1..2] in the group subs",
    label="inward: inverted once",
    related=(
        Label(place(RIG, "invert"), "inverted here"),
        Label(place(RIG, "sub[*]"), "meant to push together"),
        Label(place(RIG, "sub[1..2]", "bass.1"), "outward: not inverted"),
    ),
    assumes=("reflex-18 moves outward on + (its stock gives no polarity)", "split legs invert nothing"),
    reason="boxes that move against each other take away each other's bass; in front of them little of it is left",
    authority="common practice, no source",
    help="cross the lead of sub[3..4], or write `against sub[3..4]` where they are meant to face backwards",
    fix=Fix("cross the lead of sub[3..4]", (Edit(Span(RIG, WRONG_WAY.start, WRONG_WAY.start), "invert -> "),)),
    subject="sub[3]",
)
OVERLOAD = Finding(
    rule="load-too-low",
    span=place(RIG, "sub[1..2]", "bass.1"),
    message="bass.1 has to drive 2.67 ohm",
    related=(Label(place(STOCK, "least load 4 ohm"), "the limit"),),
    computed="2.67 ohm",
    allowed="at least 4 ohm",
    authority="data sheet of twin-900",
    subject="bass.1",
)
LOSS = Finding(
    rule="lead-loss-high",
    span=place(RIG, "lead 2.5 mm2 15 m"),
    message="the lead to sub[1] loses 0.62 dB",
    computed="0.62 dB",
    allowed="0.5 dB",
    assumes=("copper at 20 degC",),
    severity=Severity.WARNING,
)
UNUSED = Finding(
    rule="headroom-unused",
    span=place(RIG, "{\n\tat 4 m, 0 m\n}"),
    message="sub[3..4] could take 6 dB more",
    label="these two",
    severity=Severity.ADVICE,
)
NOT_CLOSED = Finding("brace-open", Span(RIG, len(RIG.text), len(RIG.text)), "a `}` is missing", "the file ends here")
NOT_READ = Finding(
    rule="file-missing",
    span=Span(Source("stock/h\x1b[31mouse.rig", ""), 0, 0),
    message="no such file",
    related=(Label(place(RIG, '"stock/house.rig"'), "asked for here"),),
)
FINDINGS = (CLASH, OVERLOAD, LOSS, UNUSED, NOT_CLOSED, NOT_READ)

# Surrogates, controls, line ends, marks and wide characters more often than chance would bring them.
texts = st.text(
    st.characters()
    | st.sampled_from("\n\r\t\x00\x1b\x7f\x85\u2028\u202e\u0301\u200d\ufe0f\ufffe\ud83d\udd0a\\喇🔊Ωab ")
)
words = texts.filter(lambda text: len(text) < 200)


@st.composite
def spans(draw: st.DrawFn) -> Span:
    source = Source(draw(words), draw(texts) * draw(st.sampled_from((1, 1, 50))))
    start, end = sorted(draw(st.tuples(*[st.integers(0, len(source.text))] * 2)))
    return Span(source, start, end)


any_findings = st.lists(
    st.builds(
        Finding,
        rule=words,
        span=spans(),
        message=words,
        label=words,
        related=st.lists(st.builds(Label, spans(), words), max_size=3).map(tuple),
        computed=words,
        allowed=words,
        assumes=st.lists(words, max_size=2).map(tuple),
        help=words,
        fix=st.none() | st.builds(Fix, words, st.lists(st.builds(Edit, spans(), words), max_size=2).map(tuple)),
        subject=words,
        severity=st.sampled_from(Severity),
        reason=words,
        authority=words,
    ),
    max_size=3,
)
