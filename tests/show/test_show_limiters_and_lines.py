"""What the tables about limiters and lines say: figures, marks and notes, from rig text."""

from __future__ import annotations

from rigspec.check import Report, check
from rigspec.show.tables import QUESTIONS
from rigspec.text.source import Refused, Source

STOCK = """\
stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB; input 20 kohm }
stock amp large { channels 2; rated 2000 W at 8 ohm; gain 32 dB; input 20 kohm }
stock speaker box { impedance 8 ohm; rated 500 W continuous, 2000 W peak; band 60 Hz to 18 kHz }
stock speaker active { powered; input 20 kohm; drive 4 dBu }
stock processor cross { inputs 1; outputs 2; input 20 kohm; source 100 ohm }
feed f { level -20 dBu; peak -6 dBu; source 0.001 ohm; band 80 Hz to 18 kHz }
"""


def report(text: str) -> Report:
    return check(Source("rig.rig", text + STOCK), lambda path, used: Refused(used, "nothing is used here"))


def row(worked: Report, word: str, number: int = 0) -> dict[str, object]:
    question = QUESTIONS[word]
    each = question.rows(worked.figures)[number]
    return {column.key: column.get(each) for column in question.columns}


def notes(worked: Report, word: str) -> str:
    note = QUESTIONS[word].note
    assert note is not None
    return "\n".join(note(worked.figures))


def test_a_threshold_stands_at_the_last_processor_or_at_the_input() -> None:
    """500 W at 8 ohm are 63.25 V; 32 dB of gain make 6.24 dBu of it, and 100 ohm into 20 kohm lose 0.043 dB."""
    worked = report(
        "amp a is twin\nspeaker b is box\nspeaker c is box\nprocessor p is cross\nf -> p.a\np.1 -> a.1 -> b\n"
        "f -> a.2 -> c\nspare p.2\n"
    )
    first, second = row(worked, "limiters"), row(worked, "limiters", 1)
    assert (first["set_at"], second["set_at"]) == ("p.1", "its input")
    assert f"{first['set_rms_dbu']:.3f} {second['set_rms_dbu']:.3f}" == "6.282 6.239"
    assert f"{first['rms_volt']:.2f} {first['peak_volt']:.2f} {first['input_peak_volt']:.4f}" == "63.25 126.49 3.1773"
    assert (first["times"], first["attack_ms"], first["release_ms"]) == ("16/256", 16, 256)
    assert "never acts" not in notes(worked, "limiters")


def test_a_powered_box_has_the_level_that_gives_its_full_output() -> None:
    worked = report("speaker b is active\nprocessor p is cross\nf -> p.a\np.1 -> pad 6 dB -> b\nspare p.2\n")
    found = row(worked, "limiters")
    assert (found["channel"], found["weakest"], found["set_at"]) == ("b", "its own amplifier", "p.1")
    assert f"{found['set_peak_dbu']:.3f}" == "10.043"
    assert found["rms_volt"] is None


def test_what_is_set_is_held_against_what_is_right() -> None:
    worked = report("amp a is twin\na.1 { limit 8.24 dBu rms; attack 20 ms }\nspeaker b is box\nf -> a.1 -> b\n")
    found = row(worked, "set-limiters")
    assert (found["set_at"], found["watches"], found["acts"], found["attack_ms"]) == ("a.1", "rms", "never", 20)
    assert f"{found['over_db']:.2f} {found['right_dbu']:.2f}" == "2.00 6.24"


def test_an_amplifier_that_clips_below_the_threshold_is_told() -> None:
    worked = report("amp a is twin\nspeaker b is box { rated 600 W continuous }\nf -> a.1 -> b\n")
    assert "never acts: a.1." in notes(worked, "limiters")


def test_outputs_above_71_v_are_told_and_a_line_of_70_7_v_is_not() -> None:
    """2000 W into 8 ohm are 126 V; IEC 60065 clause 9.1.1.1, as a public page quotes it: 71 V, 120 V professional."""
    worked = report(
        "amp a is large\namp l is line\nstock amp line { channels 2; line 70.7 V; rated 200 W at 70.7 V; gain 38 dB }\n"
        "amp k is street\nstock amp street { channels 2; line 100 V; rated 200 W at 100 V; gain 38 dB }\n"
        "stock speaker horn { taps 15 W at 70.7 V }\nstock speaker bell { taps 15 W at 100 V }\n"
        "speaker h is horn { tap 15 W }\nspeaker i is bell { tap 15 W }\nspeaker b is box\n"
        "f -> a.1 -> b\nf -> l.1 -> h\nf -> k.1 -> i\n"
    )
    assert "more than 71 V rms at full output" in notes(worked, "limiters")
    assert "a.1 126 V." in notes(worked, "limiters")
    assert "k.1 100 V." in notes(worked, "lines")
    assert "l.1" not in notes(worked, "lines")


def test_the_classes_of_wiring_are_a_reminder_where_the_code_is_american() -> None:
    text = (
        'rig "x" {{ code {} }}\nstock amp line {{ channels 2; line 100 V; rated 200 W at 100 V; gain 38 dB }}\n'
        "stock speaker horn {{ taps 15 W at 100 V }}\namp l is line\nspeaker h is horn {{ tap 15 W }}\nf -> l.1 -> h\n"
    )
    assert "NEC 640.9(C)" in notes(report(text.format("nec")), "lines")
    assert "NEC" not in notes(report(text.format("iec")), "lines")


def test_a_line_shows_its_taps_and_what_is_not_counted() -> None:
    worked = report(
        "stock amp line { channels 2; line 100 V; rated 200 W at 100 V; gain 38 dB }\namp l is line\n"
        "stock speaker horn { taps 15 W at 100 V }\nspeaker h[1] is horn { tap 15 W }\n"
        "speaker h[2] is horn { tap 15 W; insertion-loss 1 dB }\nf -> l.1 -> parallel(h[1], h[2])\n"
    )
    line = row(worked, "lines")
    assert (line["taps"], line["taps_watt"], line["free_percent"]) == (2, 30, 85)
    first, second = row(worked, "taps"), row(worked, "taps", 1)
    assert (first["insertion_loss_db"], first["behind_watt"]) == (None, None)
    assert f"{second['behind_watt']:.3f}" == "11.915"  # 15 W less 1 dB
    assert "No `insertion-loss` is given for h[1]: what" in notes(worked, "taps")
