"""The report of lived years tells each year as it is done, and counts those that crash or were lived until stopped."""

from __future__ import annotations

import pytest

from tests.lived import report
from tests.lived.life import Life


def told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], wrong: BaseException) -> str:
    """What is printed of three years of which the second goes wrong."""

    def lived(garden: str, grower: str, seed: int) -> Life:
        if seed == 15:
            raise wrong
        return Life(pours=seed)

    monkeypatch.setattr(report, "lived", lived)
    asked = ["report", "--gardens", "yard", "--growers", "obedient", "--first", "14", "--years", "3"]
    monkeypatch.setattr("sys.argv", asked)
    report.main()
    return capsys.readouterr().out


def row_of_all(printed: str) -> list[str]:
    row = next(line for line in printed.splitlines() if line.startswith("all"))
    years, _, pours, crashed, *_ = row.split()[1:]
    return [years, pours, crashed]


def test_a_year_that_crashes_is_listed_and_counted(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = told(monkeypatch, capsys, ValueError("no such period"))
    assert "yard / obedient / 14: 14 pours, 0 broken" in printed
    assert "yard / obedient / 15: crashed" in printed
    assert "ValueError: no such period" in printed
    assert "yard / obedient / 16: 16 pours" in printed
    assert row_of_all(printed) == ["3", "30", "1"]


def test_years_that_are_stopped_are_counted_so_far(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = told(monkeypatch, capsys, KeyboardInterrupt())
    assert row_of_all(printed) == ["1", "14", "0"]
