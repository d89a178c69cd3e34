"""How faults and chances read on a page."""

import pytest

from api.pages.forecast_shown import ChanceShown
from api.pages.form_answers import field_said
from api.template_filters import fault_said
from models.errors import BadValue, Fault
from models.rules.record_values import between


@pytest.mark.parametrize(
    ("message", "right", "said"),
    [
        (
            "How strong is it?",
            "slight, moderate or severe",
            "How strong is it? Slight, moderate or severe.",
        ),
        ("Not a number.", "Write digits.", "Not a number. Write digits."),
        ("'x' is no figure", "", "'x' is no figure."),
    ],
)
def test_a_fault_reads_as_whole_sentences(message: str, right: str, said: str) -> None:
    assert fault_said(Fault("/at", message, right)) == said


def test_a_missing_field_is_called_as_people_call_it() -> None:
    names = ["on", "stop/left", "new/0/clean/a", "treatments/0/term", "name"]
    assert [field_said(name) for name in names] == [
        "day",
        "way it was left",
        "a* of the reading",
        "treatment",
        "name",
    ]


def test_no_chance_is_none_and_no_range() -> None:
    assert ChanceShown("none", "0 %", "").also == ""
    assert ChanceShown("about 1 in 8", "12 %", "6 % to 22 %").also == " (12 %)"


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("pH", "A pH of 25 is not between 0 and 14."),
        ("kappa", "A kappa number of 25 is not between 0 and 14."),
        ("°C", "25 °C is not between 0 and 14 °C."),
    ],
)
def test_a_figure_out_of_its_range_is_said_with_what_it_is(unit: str, said: str) -> None:
    with pytest.raises(BadValue) as refused:
        between(0, 14, unit)(25)
    assert str(refused.value) == said
