import csv
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from rillwright.data.tables import LARGEST_FILE, LONGEST_TEXT, Row, read_table, read_user_table
from rillwright.errors import TableError
from rillwright.model.site import Id

TABLES = sorted(
    f.name.removesuffix(".csv") for f in resources.files("rillwright.data").iterdir() if f.name[-4:] == ".csv"
)
COLUMNS = (("part",), ("length_ft", "length_m"))
ROW = Row("shop.csv", 7, {"part": "tee", "price": "2.50", "none": "", "many": "90 180", "yes": "yes"})


def written(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "user.csv"
    path.write_bytes(text.encode(encoding))
    return path


def refusal(tmp_path, text, columns=COLUMNS):
    with pytest.raises(TableError) as caught:
        read_user_table(written(tmp_path, text), columns)
    assert "user.csv" in str(caught.value)
    return str(caught.value)


def test_all_tables_are_known():
    expected = (
        "backflow bodies cautions compressors covers fittings frost_bodies frost_covers frost_soils intake joints "
        "lost_days marks materials meters new_lawn nozzles pipes prices profiles rentals season soils steps stock "
        "trenches turf undoing valves waits water_colours work"
    )
    assert expected.split() == TABLES


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_its_source(name):
    """Read apart from the program, with the plain csv reader."""
    with resources.files("rillwright.data").joinpath(f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    assert all(len(row["source"]) > 5 for row in rows)
    assert [row["source"] for row in rows] == [row.text("source") for row in read_table(name)]


def test_invented_costs_say_so():
    for name in ("prices", "rentals", "trenches"):
        assert {row.text("source") for row in read_table(name)} == {"invented, replace"}


def test_a_row_reads_its_cells():
    assert ROW.text("part") == "tee"
    assert ROW.number("price") == 2.5
    assert ROW.optional("price") == 2.5
    assert ROW.optional("none") is None
    assert ROW.numbers("many", low=0, high=360) == (90.0, 180.0)
    assert ROW.numbers("none", low=0, high=360) == ()
    assert ROW.yes("yes")
    assert ROW.choice("part", ("elbow", "tee")) == "tee"


@pytest.mark.parametrize(
    ("read", "column", "hint"),
    [
        (lambda row: row.text("none"), "none", "must not be empty"),
        (lambda row: row.number("part"), "part", "write a number"),
        (lambda row: row.number("none"), "none", "write a number"),
        (lambda row: row.number("price", high=2), "price", "write a number of at most 2"),
        (lambda row: row.number("price", low=3, high=9), "price", "at least 3 and at most 9"),
        (lambda row: row.choice("part", ("elbow", "cap")), "part", "elbow, cap"),
        (lambda row: row.yes("part"), "part", "yes, no"),
        (lambda row: row.numbers("many", low=0, high=100), "many", "at least 0 and at most 100"),
    ],
)
def test_a_bad_cell_says_file_line_column_value_and_what_is_allowed(read, column, hint):
    with pytest.raises(TableError) as caught:
        read(ROW)
    message = str(caught.value)
    assert message.startswith(f"shop.csv, line 7, column '{column}': ")
    assert hint in message
    value = ROW.cells[column].split()[-1] if ROW.cells[column] else "nothing"
    assert value in message


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "1e999", "1_000", "2,5", "0x10", "\u0663", "1 000"])
def test_numbers_are_plain_and_finite(text):
    with pytest.raises(TableError, match="write a number"):
        Row("a.csv", 2, {"price": text}).number("price")


@given(st.floats(-1e300, 1e300))
def test_every_number_that_python_prints_is_read(value):
    assert Row("a.csv", 2, {"price": repr(value)}).number("price") == value


@pytest.mark.parametrize("text", ["", " ", "-a", "a<b>", "a,b", "#let", "a\nb", "x" * 61, "\u00e9t\u00e9"])
def test_names_are_spelt_as_ids_in_a_yard(text):
    with pytest.raises(TableError, match="1 to 60 letters"):
        Row("a.csv", 2, {"id": text}).name("id")
    if len(text) < 60:
        with pytest.raises(ValidationError):
            TypeAdapter(Id).validate_python(text)


def test_a_text_has_an_end():
    assert Row("a.csv", 2, {"source": "x" * LONGEST_TEXT}).text("source")
    with pytest.raises(TableError, match="nor longer than 200"):
        Row("a.csv", 2, {"source": "x" * (LONGEST_TEXT + 1)}).text("source")


def test_a_long_list_of_words_is_cut_to_the_nearest():
    words = tuple(f"pipe {n} in" for n in range(40))
    with pytest.raises(TableError) as caught:
        Row("a.csv", 2, {"part": "pipe 7in"}).choice("part", words)
    assert "pipe 7 in" in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("header", ["part,length_ft", "length_m,part", "\ufeffpart, length_ft "])
def test_a_user_table_may_order_its_columns_and_choose_its_units(tmp_path, header):
    cells = {"part": "tee", "length_ft": "1", "length_m": "2"}
    names = header.lstrip("\ufeff").replace(" ", "").split(",")
    text = header + "\r\n" + ",".join(cells[n] for n in names) + "\r\n,\r\n"
    (row,) = read_user_table(written(tmp_path, text), COLUMNS)
    assert row.line == 2
    assert row.cells == {n: cells[n] for n in names}


def test_the_line_is_that_of_the_file_even_after_empty_lines_and_quoted_breaks(tmp_path):
    path = written(tmp_path, 'part,length_ft\n\n"a\nb",1\nc,2\n')
    assert [row.line for row in read_user_table(path, COLUMNS)] == [4, 5]


def test_missing_column(tmp_path):
    message = refusal(tmp_path, "part,price\ntee,1\n")
    assert "column 'length_ft' or 'length_m' is missing" in message
    assert "part, price" in message


def test_two_units_at_once(tmp_path):
    assert "more than once (length_ft, length_m)" in refusal(tmp_path, "part,length_ft,length_m\ntee,1,2\n")


def test_unknown_column(tmp_path):
    message = refusal(tmp_path, "part,length_ft,colour\ntee,1,red\n")
    assert "column 'colour' is not known" in message
    assert "length_m" in message


@pytest.mark.parametrize("header", ["part,part,length_ft", "part,,length_ft"])
def test_repeated_or_empty_column_name(tmp_path, header):
    assert "empty or repeated" in refusal(tmp_path, f"{header}\na,b,1\n")


@pytest.mark.parametrize("text", ["", "\n\n", "part,length_ft\n", "part,length_ft\n,\n"])
def test_empty_table(tmp_path, text):
    assert "holds no rows" in refusal(tmp_path, text)


@pytest.mark.parametrize("line", ["tee", "tee,1,2"])
def test_a_line_with_too_few_or_too_many_cells(tmp_path, line):
    message = refusal(tmp_path, f"part,length_ft\nelbow,1\n{line}\n")
    assert "line 3" in message
    assert "the header has 2" in message


@pytest.mark.parametrize("text", ['part,length_ft\n"tee,1\n', 'part,length_ft\n"tee"x,1\n'])
def test_bad_quotes(tmp_path, text):
    assert "not readable as CSV" in refusal(tmp_path, text)


def test_text_that_is_no_utf8(tmp_path):
    path = written(tmp_path, "part,length_ft\ncaf\u00e9,1\n", encoding="latin-1")
    with pytest.raises(TableError, match="not UTF-8"):
        read_user_table(path, COLUMNS)


def test_no_file_and_a_folder(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(TableError, match="cannot be opened"):
            read_user_table(path, COLUMNS)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "user.csv"
    with path.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(TableError, match="too large"):
        read_user_table(path, COLUMNS)


def test_a_huge_cell_is_shown_shortened(tmp_path):
    rows = read_user_table(written(tmp_path, f"part,length_ft\ntee,{'9' * 5000}x\n"), COLUMNS)
    with pytest.raises(TableError) as caught:
        rows[0].number("length_ft")
    assert len(str(caught.value)) < 400
