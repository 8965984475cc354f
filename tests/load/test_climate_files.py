"""Weather tables as growers and services write them: what is read, left out and refused.

The layouts of GHCN-Daily are those of its readme, section III, and of readme-by_station (National Centers for
Environmental Information); the lines here are made up after them.
"""

from __future__ import annotations

import tracemalloc
from datetime import date, timedelta
from pathlib import Path

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load import climate as climate_files
from feedplan.load import load_collection, load_text
from feedplan.load.climate_table import Cell
from feedplan.model.climate import Climate, ClimateDay, Standing

COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, time_zone: Europe/London}
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {growing-on: {schedule: vigorous, feed: powder}}
trees: [{name: Brindle, species: larch, group: growing-on, pot: 3 L}]
"""
NORMALS = "month,tmin_c,tmax_c,rain_mm\n" + "".join(f"{m},{m},{m + 8},60\n" for m in range(1, 13))


def read(**tables: str) -> Climate:
    """The climate in some tables, by their names without .csv."""
    climate = load_text(COLLECTION, climate={f"{name}.csv": text for name, text in tables.items()}).climate
    assert climate is not None
    return climate


def day_of(table: str, day: str = "2027-03-04") -> ClimateDay:
    return read(daily=table).days[date.fromisoformat(day)]


def complaints(**tables: str) -> list[str]:
    try:
        read(**tables)
    except FilesHaveProblems as refusal:
        return str(refusal).splitlines()
    return []


def test_a_collection_without_a_climate_folder_has_no_climate() -> None:
    assert load_text(COLLECTION).climate is None


def test_a_folder_on_disk_is_read_and_its_files_are_watched(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(COLLECTION)
    (tmp_path / "climate").mkdir()
    (tmp_path / "climate" / "normals.csv").write_text(NORMALS)
    loaded = load_collection(tmp_path)
    assert loaded.climate is not None
    assert loaded.climate.normals is not None
    assert {file.name for file in loaded.files} >= {"normals.csv", "daily.csv"}


HEADERS = [
    "date,tmin_c,tmax_c,rain_mm",
    "Date,Tmin (°C),Tmax (°C),Rain (mm)",
    "day,minimum temperature [C],maximum temperature [C],precipitation [mm]",
    "datum,low_celsius,high_celsius,rainfall_mm",
    "time,temperature_2m_min (°C),temperature_2m_max (°C),precipitation_sum (mm)",
]


@pytest.mark.parametrize("header", HEADERS)
def test_headers_are_read_in_the_ways_services_write_them(header: str) -> None:
    found = day_of(f"{header}\n2027-03-04,1.5,9.5,2.5\n")
    assert (found.tmin_c, found.tmax_c, found.rain_mm) == (1.5, 9.5, 2.5)


def test_fahrenheit_inches_and_miles_become_celsius_millimetres_and_metres_per_second() -> None:
    # 32 °F is 0 °C, 50 °F is 10 °C, an inch is 25.4 mm, a statute mile 1609.344 m: exact by definition.
    found = day_of("date,tmin_f,tmax_f,rain_in,wind_mph\n2027-03-04,32,50,1,10\n")
    assert found.tmin_c == pytest.approx(0)
    assert found.tmax_c == pytest.approx(10)
    assert found.rain_mm == pytest.approx(25.4)
    assert found.weather.wind_m_per_s == pytest.approx(10 * 1609.344 / 3600)


def test_other_measures_keep_their_meaning_through_their_units() -> None:
    header = (
        "date,tmin_c,tmax_c,dew_point_f,humidity_percent,wind_2m_km_per_h,sunshine_min,radiation_w_per_m2"
    )
    weather = day_of(f"{header}\n2027-03-04,1,9,50,80,36,300,100\n").weather
    assert weather.dew_point_c == pytest.approx(10)
    assert weather.rh_mean_percent == 80
    assert weather.wind_m_per_s == pytest.approx(10)
    assert weather.wind_height_m == 2
    assert weather.sunshine_hours == pytest.approx(5)
    assert weather.solar_mj_per_m2 == pytest.approx(100 * 86400 / 1e6)  # a watt is a joule a second


def test_wind_without_a_height_is_taken_as_measured_at_ten_metres() -> None:
    assert day_of("date,tmin_c,tmax_c,wind_m_per_s\n2027-03-04,1,9,4\n").weather.wind_height_m == 10


def test_a_column_of_heights_says_how_high_the_wind_was_measured() -> None:
    table = "date,tmin_c,tmax_c,wind_m_per_s,wind_height_m\n2027-03-04,1,9,4,3\n"
    assert day_of(table).weather.wind_height_m == 3


def test_semicolons_with_decimal_commas_are_read() -> None:
    found = day_of("date;tmin_c;tmax_c;rain_mm\n2027-03-04;-1,5;9,5;0,2\n")
    assert (found.tmin_c, found.tmax_c, found.rain_mm) == (-1.5, 9.5, 0.2)


def test_tabs_quotes_and_dates_with_times_or_dots_are_read() -> None:
    assert day_of('"date"\t"tmin_c"\t"tmax_c"\n"2027-03-04T00:00"\t"1.5"\t"9"\n').tmin_c == 1.5
    assert day_of("date,tmin_c,tmax_c\n4.3.2027,1,9\n").tmax_c == 9
    assert day_of("date,tmin_c,tmax_c\n20270304,1,9\n").tmax_c == 9


def test_comments_blank_lines_and_lines_above_the_header_are_passed_over() -> None:
    table = "# my garden\nStation: Wrenmoor\nLicence: open\n\ndate,tmin_c,tmax_c\n\n2027-03-04,1,9\n"
    assert day_of(table).source.line == 7


def test_a_trace_of_rain_is_none_and_blank_rain_is_not_known() -> None:
    assert day_of("date,tmin_c,tmax_c,rain_mm\n2027-03-04,1,9,T\n").rain_mm == 0
    assert day_of("date,tmin_c,tmax_c,rain_mm\n2027-03-04,1,9,\n").rain_mm is None


def test_lines_in_any_order_and_a_day_told_twice_alike_are_taken() -> None:
    climate = read(daily="date,tmin_c,tmax_c\n2027-03-05,1,9\n2027-03-04,2,8\n2027-03-05,1,9\n")
    assert [str(day) for day in climate.days] == ["2027-03-04", "2027-03-05"]


def test_a_day_without_both_temperatures_counts_as_a_gap_and_is_told() -> None:
    climate = read(daily="date,tmin_c,tmax_c\n2027-03-04,1,\n2027-03-05,1,9\n")
    assert [str(day) for day in climate.days] == ["2027-03-05"]
    assert climate.notes == ("climate/daily.csv: days without both temperatures, counted as gaps: 1",)


def test_a_gap_of_three_years_is_taken_as_it_is() -> None:
    climate = read(daily="date,tmin_c,tmax_c\n2024-03-04,1,9\n2027-03-05,1,9\n", normals=NORMALS)
    inside = climate.weather_on(date(2025, 6, 1))
    assert inside is not None
    assert inside.standing is Standing.NORMAL


def test_columns_that_are_not_read_are_told() -> None:
    climate = read(daily="date,tmin_c,tmax_c,snow_cm,gusts\n2027-03-04,1,9,0,12\n")
    assert climate.notes == ("climate/daily.csv: columns not read: snow_cm, gusts",)


def test_sunshine_of_normals_told_for_the_whole_month_is_spread_over_its_days() -> None:
    table = "month,tmin_c,tmax_c,sunshine_hours\n" + "".join(f"{m},1,9,{31 * m}\n" for m in range(1, 13))
    normals = read(normals=table).normals
    assert normals is not None
    assert normals.months[0].weather.sunshine_hours == pytest.approx(1)


def test_months_may_be_named_and_stand_in_any_order() -> None:
    names = (
        "Dec",
        "January",
        "feb",
        "3",
        "04",
        "May",
        "june",
        "Jul",
        "Aug",
        "Sept".removesuffix("t"),
        "Oct",
        "Nov",
    )
    normals = read(normals="month,tmin_c,tmax_c\n" + "".join(f"{name},1,9\n" for name in names)).normals
    assert normals is not None
    assert [month.month for month in normals.months] == list(range(1, 13))


def test_a_long_enough_record_makes_its_own_normals() -> None:
    days = (date(2026, 1, 1) + timedelta(days=n) for n in range(365))
    climate = read(
        daily="date,tmin_c,tmax_c,rain_mm\n" + "".join(f"{d},{d.month},{d.month + 8},2\n" for d in days)
    )
    assert climate.normals is not None
    assert climate.normals.from_record
    may = climate.normals.months[4]
    assert (may.weather.tmin_c, may.weather.tmax_c, may.rain_mm) == (5, 13, 62)


def test_half_a_year_makes_no_normals() -> None:
    days = (date(2026, 1, 1) + timedelta(days=n) for n in range(180))
    assert read(daily="date,tmin_c,tmax_c\n" + "".join(f"{d},1,9\n" for d in days)).normals is None


REFUSED = [
    (
        "date,tmin_c,tmax_c\n2027-03-04,12,9\n",
        "climate/daily.csv:2:1: the minimum 12 °C is above the maximum 9 °C; are the two columns swapped?",
    ),
    (
        "date,tmin_c,tmax_c\n2027-03-04,12,60\n",
        "climate/daily.csv:2:15: tmax_c of 60 °C: the weather keeps to -90 to 56.7 °C; "
        "if it is in Fahrenheit, say so in the header: tmax_f",
    ),
    (
        "date,tmin,tmax_c\n2027-03-04,1,9\n",
        "climate/daily.csv:1:6: the column 'tmin' says no unit; write tmin_c for example (known: c or f)",
    ),
    (
        "date,tmin_c,tmax_c,wind\n2027-03-04,1,9,3\n",
        "climate/daily.csv:1:20: the column 'wind' says no unit; write wind_m_per_s for example "
        "(known: m/s or km/h or mph or kn)",
    ),
    (
        "date,tmin_c,rain_mm\n2027-03-04,1,9\n",
        "climate/daily.csv:1:1: the header lacks tmax_c; add it, such as date,tmin_c,tmax_c,rain_mm",
    ),
    (
        "date,tmin_c,tmax_c\n2027-03-04,1,9\n2027-03-04,2,9\n",
        "climate/daily.csv:3:1: 2027-03-04 stands already in line 2 with other values; keep one of the two",
    ),
    (
        "date,tmin_c,tmax_c\n04/03/2027,1,9\n",
        "climate/daily.csv:2:1: '04/03/2027' is no day that is clear; write for example 2027-03-04".replace(
            "2027-03-04", "2027-06-05"
        ),
    ),
    (
        "date,tmin_c,tmax_c\n2027-03-04,mild,9\n",
        "climate/daily.csv:2:12: 'mild' is not a number; write one, or leave it blank",
    ),
    (
        "date,tmin_c,tmax_c\n2027-03-04,1,5,9,5\n",
        "climate/daily.csv:2:1: has 5 values under 3 headers; "
        "numbers with a decimal comma need semicolons between them",
    ),
    (
        "date,tmin_c,tmax_c,tmin_c\n2027-03-04,1,9,1\n",
        "climate/daily.csv:1:20: the column 'tmin_c' repeats another; delete one of them",
    ),
    (
        "date,tmin_c,tmax_c,rain_mm\n2027-03-04,1,9,-3\n",
        "climate/daily.csv:2:16: rain_mm of -3 mm: the weather keeps to 0 to 1900 mm",
    ),
    (
        "date,tmin_c,tmax_c,standing\n2027-03-04,1,9,guess\n",
        "climate/daily.csv:2:16: 'guess' is no standing; write observed, forecast or nothing",
    ),
    ("", "climate/daily.csv:1:1: is empty; write a header line and a line for each day or month"),
    (
        "cold\nwarm\n",
        "climate/daily.csv:1:1: no header line found; write one such as date,tmin_c,tmax_c,rain_mm",
    ),
]


@pytest.mark.parametrize(("table", "message"), REFUSED)
def test_a_daily_table_is_refused_with_its_line_and_a_remedy(table: str, message: str) -> None:
    assert complaints(daily=table) == [message]


REFUSED_NORMALS = [
    (
        NORMALS.replace("7,7,15,60\n", ""),
        "climate/normals.csv:1:1: lacks July; normals need one line for each of the 12 months",
    ),
    (
        NORMALS.replace("8,8,16,60", "7,8,16,60"),
        "climate/normals.csv:1:1: lacks August; normals need one line for each of the 12 months\n"
        "climate/normals.csv:9:1: month '7' stands already in line 8; delete one",
    ),
    (
        NORMALS.replace("7,7,15,60", "7,7,,60"),
        "climate/normals.csv:8:1: the month has no tmax_c; normals need both temperatures",
    ),
    (
        NORMALS.replace("7,7,15,60", "13,7,15,60"),
        "climate/normals.csv:1:1: lacks July; normals need one line for each of the 12 months\n"
        "climate/normals.csv:8:1: '13' is no month; write 1 to 12",
    ),
]


@pytest.mark.parametrize(("table", "message"), REFUSED_NORMALS)
def test_normals_are_refused_with_their_line_and_a_remedy(table: str, message: str) -> None:
    assert "\n".join(complaints(normals=table)) == message


def test_many_slips_of_one_kind_are_not_told_one_by_one() -> None:
    days = (date(2026, 1, 1) + timedelta(days=n) for n in range(300))
    found = complaints(daily="date,tmin_c,tmax_c\n" + "".join(f"{d},59,99\n" for d in days))
    assert len(found) == 11
    assert found[-1].endswith("and 590 more like these in this file")


def test_a_table_of_two_million_lines_is_refused_before_it_is_cut_into_lines() -> None:
    """32 MB, which took 2 GB to read."""
    text = "date,tmin_c,tmax_c\n" + "2027-06-01,8,17\n" * 2_000_000
    tracemalloc.start()
    found = complaints(daily=text)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found == [
        "climate/daily.csv:150000:1: has more than 150000 lines; is this a table of days or months?"
    ]
    assert peak < 2 * len(text)


def test_slips_that_are_only_counted_are_not_looked_up_in_their_lines(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A hundred thousand wrong lines took ten seconds."""
    looked_up: list[Cell] = []

    def column(cell: Cell) -> int:
        looked_up.append(cell)
        return 1

    monkeypatch.setattr(Cell, "column", property(column))
    assert len(complaints(daily="date,tmin_c,tmax_c\n" + "2027-06-01,x,y\n" * 1000)) == 11
    assert len(looked_up) == 11


def dly(element: str, values: dict[int, tuple[int, str]], month: str = "202703") -> str:
    """One line of a .dly file: a value and its three flags for each day of a month."""
    cells = (values.get(day, (-9999, "   ")) for day in range(1, 32))
    return f"GME00111445{month}{element}" + "".join(f"{value:5d}{flags}" for value, flags in cells) + "\n"


def test_a_fixed_width_station_record_is_read_with_its_flags() -> None:
    record = (
        dly("TMAX", {4: (95, "  S"), 5: (100, " IS"), 6: (88, "  S")})
        + dly("TMIN", {4: (15, "  S"), 5: (20, "  S"), 6: (-12, "  S")})
        + dly("PRCP", {4: (25, "  S"), 6: (0, "P S")})
        + dly("SNWD", {4: (0, "  S")})
        + dly("AWND", {4: (41, "  W")})
    )
    climate = read_station(record)
    assert [str(day) for day in climate.days] == [
        "2027-03-04",
        "2027-03-06",
    ]  # the 5th failed a check: flag I
    fourth = climate.days[date(2027, 3, 4)]
    assert [fourth.tmin_c, fourth.tmax_c, fourth.rain_mm] == pytest.approx([1.5, 9.5, 2.5])
    assert fourth.weather.wind_m_per_s == pytest.approx(4.1)
    assert climate.days[date(2027, 3, 6)].rain_mm is None  # "missing presumed zero" was not measured
    assert climate.notes[-1].endswith("readings that failed the station's own checks, left out: 2")


def test_a_station_record_of_more_readings_than_any_station_has_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """49 MB of one month took most of a minute."""
    monkeypatch.setattr(climate_files, "MOST_READINGS", 93)
    record = "".join(dly("TMAX", {4: (95, "  S")}, month) for month in ("202703", "202705", "202707"))
    read_station(record + dly("TMIN", {4: (15, "  S")}).replace("TMIN", "SNWD"))
    with pytest.raises(FilesHaveProblems) as refused:
        read_station(record + dly("TMIN", {4: (15, "  S")}))
    assert str(refused.value) == (
        "climate/GME00111445.dly:4:1: has more than 93 readings; is it one station's record?"
    )


def read_station(record: str) -> Climate:
    climate = load_text(COLLECTION, climate={"GME00111445.dly": record}).climate
    assert climate is not None
    return climate


BY_STATION = """\
GME00111445,20270304,TMAX,95,,,E,
GME00111445,20270304,TMIN,15,,,E,
GME00111445,20270304,PRCP,3,T,,E,0700
GME00111445,20270305,TMAX,400,,G,E,
GME00111445,20270305,TMIN,20,,,E,
"""


def test_the_by_station_layout_is_read_where_the_daily_table_stands() -> None:
    climate = read(daily=BY_STATION)
    assert [str(day) for day in climate.days] == ["2027-03-04"]
    assert climate.days[date(2027, 3, 4)].rain_mm == pytest.approx(0.3)


def test_a_broken_station_line_is_told_with_its_number() -> None:
    assert complaints(daily=BY_STATION + "GME00111445,2027030,TMAX,x,,,E,\n") == [
        "climate/daily.csv:6:1: is no line of a by-station record; download the file anew"
    ]


def test_the_daily_table_wins_over_a_station_and_the_station_fills_its_gaps() -> None:
    station = dly("TMAX", {4: (95, "  S"), 5: (100, "  S")}) + dly("TMIN", {4: (15, "  S"), 5: (20, "  S")})
    climate = load_text(
        COLLECTION, climate={"x.dly": station, "daily.csv": "date,tmin_c,tmax_c\n2027-03-04,0,5\n"}
    ).climate
    assert climate is not None
    assert climate.days[date(2027, 3, 4)].tmax_c == 5
    assert climate.days[date(2027, 3, 5)].tmax_c == pytest.approx(10)
