"""A table of trees as spreadsheets save it: every encoding and separator, headings in any order, and each slip told."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.errors import FeedplanError
from feedplan.load.tree_table import HEADINGS, TableRow, read_tree_table

HEAD = ["Tree", "Kind", "Pot", "Group", "Bench"]
CELLS = [
    ["Brindle", "larch", "30 x 22 x 7,5 cm", "growing-on", "south wall"],
    ["Öland, old", "Acer palmatum 'Deshojo'", "6,5 L", "", ""],
]
READ = (
    TableRow(2, "Brindle", "larch", "30 x 22 x 7.5 cm", "growing-on", "south wall"),
    TableRow(3, "Öland, old", "Acer palmatum 'Deshojo'", "6.5 L"),
)


def written(rows: list[list[str]], separator: str = ",") -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=separator).writerows(rows)
    return text.getvalue()


def slips(text: str) -> list[str]:
    with pytest.raises(FeedplanError) as refusal:
        read_tree_table(text.encode(), "trees.csv")
    first, *rest = str(refusal.value).split("\n")
    assert first == "trees.csv cannot be read as it stands, so nothing was written:"
    return [slip.strip() for slip in rest]


# UTF-16 with tabs is what spreadsheets call "Unicode text".
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le-bom", "utf-16-be-bom"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_every_encoding_and_separator_reads_alike(encoding: str, separator: str) -> None:
    text = written([HEAD, *CELLS], separator)
    marked = "\ufeff" + text if encoding.endswith("-bom") else text
    assert read_tree_table(marked.encode(encoding.removesuffix("-bom")), "trees.csv").rows == READ


@given(st.permutations(range(5)))
def test_columns_stand_in_any_order(order: list[int]) -> None:
    text = written([[row[place] for place in order] for row in (HEAD, *CELLS)])
    assert read_tree_table(text.encode(), "trees.csv").rows == READ


@pytest.mark.parametrize(
    ("heading", "column"), [(other, column) for column in HEADINGS for other in (column, *HEADINGS[column])]
)
def test_every_usual_heading_is_known_in_any_capitals(heading: str, column: str) -> None:
    cells = {"name": "Tern", "species": "larch", "pot": "9 L", column: "9 L" if column == "pot" else "7"}
    head = [heading.upper() if key == column else key for key in cells]
    row = read_tree_table(written([head, list(cells.values())]).encode(), "t.csv").rows[0]
    assert str(getattr(row, "words" if column == "notes" else column)) == cells[column]


def test_the_unit_may_stand_in_the_heading() -> None:
    text = "name;species;pot size (cm)\nA;larch;30 x 22 x 7,5\nB;larch;round 25 × 9\nC;larch;9 L\n"
    pots = [row.pot for row in read_tree_table(text.encode(), "t.csv").rows]
    assert pots == ["30 x 22 x 7.5 cm", "round 25 x 9 cm", "9 L"]


def test_several_columns_of_notes_are_one_and_others_are_named() -> None:
    text = "name,species,pot,health,price,remarks\nA,larch,9 L,weak,20,repotted 2027\n"
    table = read_tree_table(text.encode(), "t.csv")
    assert (table.rows[0].words, table.left_out) == ("weak; repotted 2027", ("price",))


def test_empty_rows_and_a_line_naming_the_separator_are_passed_over_and_still_counted() -> None:
    text = "sep=;\n\nname;species;pot\n;;\nA;larch;9 L\n"
    assert read_tree_table(text.encode(), "t.csv").rows == (TableRow(5, "A", "larch", "9 L"),)


def test_all_that_is_wrong_is_said_at_once_with_row_column_and_remedy() -> None:
    text = (
        "name,species,pot,count,notes\n"
        "Tern,larch,30 x 22 cm,,\n"
        "Tern,,9 L,two,\n"
        ',elm,"10,500 ml",,\n'
        "Moth,elm,6,5 L,,weak\n"
    )
    assert slips(text) == [
        "row 2, pot: '30 x 22 cm' has two measures; if it is round, write round 30 x 22 cm",
        "row 3, name: 'Tern' stands already in row 2; give one of them another name",
        "row 3, species: nothing is written; write the tree's species",
        "row 3, count: 'two' is not a number of trees; write 1 to 10000",
        "row 4, name: nothing is written; write the tree's name",
        "row 4, pot: '10,500 ml' has a comma before three digits; write it without the comma",
        "row 5 has more cells than there are headings; put a cell that holds a comma or semicolon in quotation marks",
    ]


@pytest.mark.parametrize(
    ("text", "slip"),
    [
        ("", "it is empty; write a row with the headings name, species and pot, then a row a tree"),
        ("name,species,pot\n", "there is no row below the headings; write a row a tree"),
        ("name,specis,pot\nA,larch,9 L\n", "row 1, specis: head it species"),
        (
            "name,species\nA,larch\n",
            "row 1: no column is headed pot; write pot at the head of the column that tells it",
        ),
        (
            "name,tree,species,pot\nA,B,larch,9 L\n",
            "row 1: two columns are headed as name; head one of them otherwise",
        ),
        (
            'name,species,pot\n"A,larch,9 L\n',
            "line 2: a quotation mark is not closed, or not doubled within a cell; mend it",
        ),
    ],
)
def test_a_table_that_is_none_says_what_to_write(text: str, slip: str) -> None:
    assert slips(text) == [slip]


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"PK\x03\x04rest", 't.xlsx is a whole workbook; save the sheet as "CSV UTF-8" and name that'),
        (
            "name,species,pot\nÖland,larch,9 L\n".encode("cp1252"),
            't.xlsx:2:1: is not UTF-8 (byte 0xd6); save the file as UTF-8; a spreadsheet calls that "CSV UTF-8"',
        ),
    ],
)
def test_another_kind_of_file_says_how_to_save_it(raw: bytes, sentence: str) -> None:
    with pytest.raises(FeedplanError) as refusal:
        read_tree_table(raw, "t.xlsx")
    assert str(refusal.value) == sentence


@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: f"name,species,pot\n{text}".encode()))
def test_no_bytes_break_the_reader(raw: bytes) -> None:
    try:
        read_tree_table(raw, "t.csv")
    except FeedplanError as refusal:
        assert str(refusal)
