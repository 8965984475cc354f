"""Strengths: nitrogen in the feed, or a share of the label rate, and nothing that could be either."""

from __future__ import annotations

from decimal import Decimal

import pytest

from feedplan.dose.strength import LabelShare, PpmN, parse_share, parse_strength


@pytest.mark.parametrize("text", ["150 ppm N", "150ppm n", "150 mg/L N", "150 mg N/L", "150 mg N per litre"])
def test_nitrogen_strength_is_read(text: str) -> None:
    assert parse_strength(text) == PpmN(Decimal(150))


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("1/2 label", "0.5"),
        ("half label rate", "0.5"),
        ("half of the label rate", "0.5"),
        ("a quarter of the label", "0.25"),
        ("25 % label", "0.25"),
        ("0.75 label", "0.75"),
        ("three quarters of the label", "0.75"),
        ("full label rate", "1"),
        ("label rate", "1"),
    ],
)
def test_a_share_of_the_label_is_read(text: str, share: str) -> None:
    assert parse_strength(text) == LabelShare(Decimal(share))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("150 ppm", "'150 ppm' does not say ppm of what; write 150 ppm N"),
        (
            "150 ppm NO3",
            "'150 ppm NO3' counts nitrate, which is 22.6 % N; write the nitrogen, such as 150 ppm N",
        ),
        (
            "800 ppm TDS",
            "'800 ppm TDS' is a meter's salt reading, not nitrogen; write for example 150 ppm N or 1/2 label",
        ),
        ("50 ppm K", "'50 ppm K' is not nitrogen; a strength is set by N, such as 150 ppm N"),
        ("0 ppm N", "'0 ppm N' is no feed; leave the feed out, or write for example 50 ppm N"),
        ("3000 ppm N", "3000 ppm N is outside 0 to 2000 ppm N; feeds for trees are 20 to 200 ppm N"),
        ("25 %", "'25 %' does not say of what; write 25 % label"),
        ("1/2", "'1/2' does not say of what; write 1/2 label"),
        (
            "1.2 mS/cm",
            "'1.2 mS/cm' is a conductivity, and each feed reads differently; write for example 150 ppm N or 1/2 label",
        ),
        ("strong", "'strong' is not a strength; write for example 150 ppm N or 1/2 label"),
        ("3/2 label", "'3/2' is not more than 0 and at most 1; write for example 1/2 or 50 %"),
        ("1/0 label", "'1/0' is not more than 0 and at most 1; write for example 1/2 or 50 %"),
        ("2 label", "'2' is not more than 0 and at most 1; write for example 1/2 or 50 %"),
    ],
)
def test_what_is_not_a_strength_is_refused_with_advice(text: str, message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        parse_strength(text)
    assert str(refusal.value) == message


def test_a_label_is_never_exceeded() -> None:
    with pytest.raises(ValueError, match="the label is never exceeded"):
        LabelShare(Decimal("1.5"))


@pytest.mark.parametrize(("text", "share"), [("1/2", "0.5"), ("50%", "0.5"), ("half", "0.5"), ("0.5", "0.5")])
def test_a_share_is_read_in_every_usual_way(text: str, share: str) -> None:
    assert parse_share(text) == Decimal(share)


def test_a_strength_says_itself_in_whole_numbers() -> None:
    assert str(PpmN(Decimal("37.5"))) == "38 ppm N"
    assert str(LabelShare(Decimal("0.25"))) == "25 % of the label rate"
