"""A shop's own parts stand beside the built-in ones, checked in the same way; what is wrong is said in one line."""

import os
from pathlib import Path

import pytest
from ownparts import OWN_PARTS

from ropewalk.bike.ownparts import own_parts_text, with_own_parts
from ropewalk.bike.parts import KINDS_OF_PART, catalogue
from ropewalk.bike.rowreading import MOST_ROWS
from ropewalk.bike.tomltext import MOST_BYTES
from ropewalk.errors import PartError


def joined(text=OWN_PARTS):
    return own_parts_text(text, "quay.toml", catalogue())


def refused(text):
    with pytest.raises(PartError) as caught:
        joined(text)
    message = str(caught.value)
    assert "\n" not in message
    assert message.isprintable()
    assert message.startswith("quay.toml")
    return message


def changed(old, new):
    assert OWN_PARTS.count(old) == 1, old
    return OWN_PARTS.replace(old, new)


def test_own_rows_are_found_beside_the_built_in_ones():
    shelf = joined()
    assert shelf.housing("quay brake 5.0").outside == 5.05
    assert shelf.housing("spiral brake 5.0") is catalogue().housing("spiral brake 5.0")
    assert shelf.ferrule_for("quay brake 5.0").name == "quay ferrule"
    assert shelf.ferrule_for("spiral brake 5.0").name == "ferrule 5"
    assert shelf.inner("quay inner 1.5").stock == (1700, 2100)
    assert shelf.lever("quay lever").exit("brake").nipple == "pear"
    assert shelf.mover("quay caliper").mount == "fork crown"
    assert shelf.sleeve("quay sleeve").bore == 5.0


def test_own_rows_carry_own_and_built_in_sources():
    housing = joined().housing("quay brake 5.0")
    assert (housing.outside.kind, housing.outside.source) == ("measured", "our sliding caliper, five pieces")
    assert housing.kink_radius.source == "default: ask the maker"


def test_own_rows_are_told_from_built_in_ones():
    assert joined().own == {
        ("housing", "quay brake 5.0"),
        ("ferrule", "quay ferrule"),
        ("strand", "quay strand"),
        ("inner", "quay inner 1.5"),
        ("lever", "quay lever"),
        ("mover", "quay caliper"),
        ("sleeve", "quay sleeve"),
    }
    assert not catalogue().own


def test_the_built_in_catalogue_stays_as_it_is():
    before = {kind.word: list(catalogue().rows(kind)) for kind in KINDS_OF_PART}
    joined()
    assert {kind.word: list(catalogue().rows(kind)) for kind in KINDS_OF_PART} == before
    with pytest.raises(PartError, match="quay brake"):
        catalogue().housing("quay brake 5.0")


def test_a_row_may_name_a_built_in_row_and_a_ferrule_the_housing_it_ends():
    text = changed('ferrule = "quay ferrule"', "").replace(
        '[ferrule."quay ferrule"]', '[ferrule."quay ferrule"]\nhousings = ["quay brake 5.0"]'
    )
    assert joined(text).ferrule_for("quay brake 5.0").name == "quay ferrule"
    assert joined(changed('strand = "quay strand"', 'strand = "1x19"')).inner("quay inner 1.5").strand == "1x19"
    assert joined(changed('ferrule = "quay ferrule"', 'ferrule = "ferrule 5"')).ferrule_for("quay brake 5.0").floor == 2


OUTSIDE = '[5.05,  0.05, "mm",    "caliper"]'
#: what is changed, into what, and what the line says
WRONG = {
    "a bare number": (OUTSIDE, "5.05", ['[housing."quay brake 5.0"] outside', "row of four", '"mm", "mark"']),
    "no source": (OUTSIDE, '[5.05, 0.05, "mm"]', ["outside", "row of four"]),
    "no spread": (OUTSIDE, '[5.05, "mm", "caliper"]', ["outside", "row of four"]),
    "a wrong unit": (OUTSIDE, '[5.05, 0.05, "in", "caliper"]', ["outside", "the unit is 'in', wanted 'mm'"]),
    "no unit": (OUTSIDE, '[5.05, 0.05, "", "caliper"]', ["outside", "the unit is '', wanted 'mm'"]),
    "an unknown mark": (OUTSIDE, '[5.05, 0.05, "mm", "hearsay"]', ["outside", "'hearsay'", "[source.mark]", "caliper"]),
    "a mark that is no text": (OUTSIDE, '[5.05, 0.05, "mm", []]', ["outside", "the mark []"]),
    "text for a number": (OUTSIDE, '["5", 0.05, "mm", "caliper"]', ["outside", "'5' is not a number"]),
    "NaN": (OUTSIDE, '[nan, 0.05, "mm", "caliper"]', ["outside", "not a number"]),
    "beyond measure": (OUTSIDE, '[1e9, 0.05, "mm", "caliper"]', ["outside", "1000000000.0 mm", "at most 20000"]),
    "a whole number too long for a computer": (OUTSIDE, f'[{"9" * 400}, 0, "mm", "caliper"]', ["beyond all measure"]),
    "infinity": (OUTSIDE, '[inf, 0.05, "mm", "caliper"]', ["inf mm", "beyond all measure"]),
    "a tube as wide as a wheel": (OUTSIDE, '[700, 0.05, "mm", "caliper"]', ["outside", "700 mm is too large", "600"]),
    "a spread as wide as a wheel": (OUTSIDE, '[5, 700, "mm", "caliper"]', ["outside", "spread 700 mm is too large"]),
    "a ferrule as long as a hand": ("insertion = [9.0,", "insertion = [90,", ["insertion", "90 mm", "at most 60"]),
    "a spring that does not pull": ("spring_least = [10,", "spring_least = [0,", ["spring_least", "above 0"]),
    "a housing as soft as nothing": ("[50e3,  25e3,", "[1, 0,", ["axial_stiffness", "at least 100"]),
    "a part on another bike": ("[[40, 38, 32],", "[[4000, 38, 32],", ["seat", "too far out", "1000 mm at most"]),
    "a direction that is none": ("[[0, 1, 0.05], 10,", "[[0, 1, 0.05], 90,", ["leaves", "60 deg at most"]),
    "a negative spread": (OUTSIDE, '[5.05, -1, "mm", "caliper"]', ["outside", "spread -1 is below 0"]),
    "outside below the bore": (OUTSIDE, '[2.0, 0.05, "mm", "caliper"]', ["quay brake", "bore 2.1 mm", "2 mm"]),
    "an unknown key": ("outside           =", "outsid =", ['unknown key "outsid"', 'did you mean "outside"']),
    "a missing key": (f"outside           = {OUTSIDE}", "", ["outside: is missing"]),
    "a missing friction pair": (
        'contact = "lined housing"\nferrule',
        "ferrule",
        ["contact is missing", "friction pair"],
    ),
    "no ferrule": ('ferrule = "quay ferrule"', "", ['[housing."quay brake 5.0"] ferrule: is missing']),
    "a lost ferrule": ('ferrule = "quay ferrule"', 'ferrule = "quay ferule"', ['did you mean "quay ferrule"']),
    "a lost friction pair": (
        'contact = "lined housing"',
        'contact = "silk"',
        ['contact: "silk" is not in the catalogue', "lined housing"],
    ),
    "a lost strand": ('strand = "quay strand"', 'strand = "1x91"', ["strand", 'did you mean "1x19"']),
    "a lost noodle": (
        'end = "anchor"',
        'end = "anchor"\nformed = "noodle 95"',
        ['[mover."quay caliper"] formed', 'did you mean "noodle 90"'],
    ),
    "a clash of names": ('"quay sleeve"', '"Anti-Rattle Sleeve"', ["built in already", "another name"]),
    "a clash of sources": ("[source.caliper]", "[source.P]", ['[source."P"]', "built-in source"]),
    "a source without text": ('source = "our sliding caliper, five pieces"', 'source = " "', ["filled in"]),
    "a source without kind": ('kind = "measured"', "", ['[source."caliper"]', "kind and source"]),
    "a source of another kind": ('kind = "measured"', 'kind = "rumour"', ['"rumour"', "estimate"]),
    "an estimate that names nobody to ask": ('kind = "measured"', 'kind = "estimate"', ["default: ask the maker"]),
    "an unknown table": ('[sleeve."quay sleeve"]', '[sleeves."quay sleeve"]', ['"sleeves"', 'did you mean "sleeve"']),
    "a row without a name": ('[sleeve."quay sleeve"]', "[sleeve]", ["sleeve", "table"]),
    "a list of rows": ('[sleeve."quay sleeve"]', "[[sleeve]]", ["sleeve is a list", '[sleeve."name"]']),
    "a name with a blank at its end": ('[sleeve."quay sleeve"]', '[sleeve."quay sleeve "]', ["blank"]),
    "a name that steers a terminal": ('[sleeve."quay sleeve"]', '[sleeve."quay\\u001b[2J"]', ["plain text"]),
    "a name too long for a frame file": ('[sleeve."quay sleeve"]', f'[sleeve."{"q" * 61}"]', ["1 to 60 characters"]),
    "a name within the row": (
        '[sleeve."quay sleeve"]',
        '[sleeve."quay sleeve"]\nname = "quay"',
        ['unknown key "name"'],
    ),
    "an unknown work": ('work = ["brake", "hose"]', 'work = ["brake", "hoes"]', ["work", 'did you mean "hose"']),
    "no work": ('work = ["brake", "hose"]', "work = []", ["work: is empty"]),
    "text for a list": ('work = ["brake", "hose"]', 'work = "brake"', ["work", "list in square brackets"]),
    "an unknown mount": ('mount = "fork crown"', 'mount = "fork crow"', ["mount", 'did you mean "fork crown"']),
    "text for true": ('end = "anchor"', 'end = "anchor"\nbare = "yes"', ["bare", "true or false"]),
    "a lever for no such work": ('.exit.brake]', '.exit.brak]', ["exit.brak", 'did you mean "brake"']),
    "a misspelt key of an exit": ('nipple = "pear"', 'nippel = "pear"', ["exit.brake", 'did you mean "nipple"']),
    "a nipple that no inner has": ('nipple = "pear"', 'nipple = "small barrel"', ["brake.nipple: no inner for brake"]),
    "no nipple": ('nipple = "pear"\n', "", ["exit.brake", "nipple is missing"]),
    "a brake lever without its pull kind": ('pull_kind = "short"\nadvantage', "advantage", ["exit.brake.pull_kind"]),
    "a direction without length": ("[[1, 0, 0],  12", "[[0, 0, 0],  12", ["exit.brake.leaves", "no length"]),
    "a brake without a spring": ('spring_least = [10,   4, "N",   "E"]', "", ["spring_least is missing"]),
    "an anchor out of reach": ("anchor_path  = [49,", "anchor_path  = [19,", ["anchor_path 19 mm", "straight 48 mm"]),
    "an exact length and a path": (
        'anchor_path  = [49,   5, "mm",  "E"]',
        'anchor_path = [49, 5, "mm", "E"]\nsetting_length = [49, 1, "mm", "E"]',
        ["write setting_length alone"],
    ),
    "stock that does not rise": ("[[1700, 2100]", "[[2100, 1700]", ["stock", "must rise"]),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "says"), WRONG.values(), ids=WRONG)
def test_a_wrong_row_is_refused_in_one_line(old, new, says):
    message = refused(changed(old, new))
    for words in says:
        assert words in message


def test_a_ferrule_cannot_take_a_housing_from_another():
    message = refused(changed('[ferrule."quay ferrule"]', '[ferrule."quay ferrule"]\nhousings = ["link"]'))
    assert '"link" ends in "link end" already' in message


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty: write a part into it"),
        (b"\xff\xfe[", "UTF-16"),
        (b"# our parts\n" + "name = 'Łódź'".encode("iso-8859-2"), "line 2 is not UTF-8"),
        (b"\0\1", "no text but binary"),
        ("[housing", "is not TOML"),
        ("a = " + "[" * 2400, "not TOML|nested too deeply"),
        ("# " + "x" * 3000, "line 1 has 3002 characters"),
        (b" " * (MOST_BYTES + 1), "is 1.1 MB: a parts file may have at most 1 MB"),
        ("housing = 3", "housing is 3: it has to be tables"),
        ("source = 3", "source is 3: it has to be tables"),
        ('[source.own]\nkind = "read"\nsource = "a book"', "holds no part"),
        ("".join(f'[housing."{number}"]\n' for number in range(MOST_ROWS + 1)), f"at most {MOST_ROWS}"),
    ],
)
def test_text_that_is_no_parts_file(text, says):
    with pytest.raises(PartError, match=rf"^quay\.toml: .*({says})"):
        joined(text)


def test_files_that_cannot_be_read(tmp_path: Path):
    with pytest.raises(PartError, match=r"there is no such file"):
        with_own_parts(tmp_path / "none.toml", catalogue())
    with pytest.raises(PartError, match=r"is a folder: name one parts file in it"):
        with_own_parts(tmp_path, catalogue())
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(PartError, match=r"is a pipe or a device: save the parts file to disk"):
        with_own_parts(pipe, catalogue())


def test_a_file_is_read_like_its_text(tmp_path: Path):
    path = tmp_path / "quay.toml"
    path.write_text("\ufeff" + OWN_PARTS, encoding="utf-8")
    assert with_own_parts(path, catalogue()) == joined()
