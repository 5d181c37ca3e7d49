"""Comments of two versions of a file: none is lost, none stands twice, each where it belongs."""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from composer.files.comments import comments_of, gather_comments, source_lines
from composer.files.routine_file import routine_from_text

BASE = """# A routine for two.

format = 1
title = "Two # by the lake"  # working title
notes = [
    # calls
    {beat = "4", text = "lamps # low", kind = "light"},
    {beat = "8", text = "bow"},  # deep
]

[track]
file = "lake.ogg"

[music]
end_beat = "16"
tempo = [
    {beat = "0", at_s = 0.5},
    {beat = "16", at_s = 8.5},
]

# Wren leads.
[[performer]]
name = "Wren"

[[performer]]
name = "Lark"

[[part]]
performer = "Wren"
moves = [
    {at = "0", beats = "8", move = "extension"},
    {at = "8", beats = "8", move = "triquetra"},
]

[[part]]
performer = "Lark"
moves = [
    {at = "0", beats = "8", move = "extension"},  # as Wren
    {at = "8", beats = "8", move = "triquetra"},
]
"""
END = "# homeless:"


def texts(text: str) -> Counter[str]:
    return Counter(comment.text for comment in comments_of(text))


def with_comment(text: str, line: int, words: str, *, own_line: bool) -> str:
    """A comment at the end of a line, or on one of its own before it."""
    lines = text.splitlines()
    place = line % len(lines)
    if own_line or not lines[place].strip() or "#" in lines[place]:
        lines.insert(place, f"# {words}")
    else:
        lines[place] += f"  # {words}"
    return "\n".join(lines) + "\n"


def test_a_hash_within_quotes_begins_no_comment() -> None:
    assert texts(BASE) == Counter(
        ["# A routine for two.", "# working title", "# calls", "# deep", "# Wren leads.",
         "# as Wren"]
    )  # fmt: skip
    several = 'notes = """\n# no comment\n"""  # one\nkey = \'#\'\nbad = "\\"#"\n'
    assert texts(several) == Counter(["# one"])


def test_rows_of_two_parts_are_told_apart() -> None:
    known = [line.anchors[0] for line in source_lines(BASE) if "extension" in line.content]
    assert [anchor[0] for anchor in known] == ["[[part]] Wren", "[[part]] Lark"]


PLACES = st.lists(
    st.tuples(st.integers(0, 60), st.booleans(), st.sampled_from("abcdef")), max_size=4
)


@settings(max_examples=150, deadline=None)
@given(PLACES, PLACES)
def test_every_comment_of_either_is_there_once_and_the_routine_is_the_same(
    mine: list[tuple[int, bool, str]], hers: list[tuple[int, bool, str]]
) -> None:
    one = other = BASE
    for place, own_line, words in mine:
        one = with_comment(one, place, f"mine {words}", own_line=own_line)
    for place, own_line, words in hers:
        other = with_comment(other, place, f"hers {words}", own_line=own_line)
    gathered = gather_comments(one, BASE, one, other, END)
    assert not gathered.homeless
    added = (texts(one) - texts(BASE)) + (texts(other) - texts(BASE))
    assert texts(gathered.text) == texts(BASE) + added
    assert routine_from_text(gathered.text, "x") == routine_from_text(BASE, "x")


@settings(max_examples=100, deadline=None)
@given(PLACES)
def test_with_one_side_unchanged_the_other_s_comments_come_back_line_for_line(
    hers: list[tuple[int, bool, str]],
) -> None:
    other = BASE
    for place, own_line, words in hers:
        other = with_comment(other, place, f"hers {words}", own_line=own_line)
    told = [
        (c.text, c.anchors[0], c.before)
        for c in comments_of(gather_comments(BASE, BASE, BASE, other, END).text)
    ]
    assert Counter(told) == Counter((c.text, c.anchors[0], c.before) for c in comments_of(other))


def test_a_comment_that_one_took_out_is_gone_and_one_she_changed_is_hers() -> None:
    other = BASE.replace("# working title", "# the title").replace("    # calls\n", "")
    done = gather_comments(BASE, BASE, BASE, other, END).text
    assert 'title = "Two # by the lake"  # the title' in done
    assert "# calls" not in done
    assert "# working title" not in done


def test_what_both_wrote_alike_stands_once() -> None:
    both = BASE.replace('file = "lake.ogg"', 'file = "lake.ogg"  # from the shed')
    assert gather_comments(both, BASE, both, both, END).text == both


def test_a_row_that_was_changed_meanwhile_keeps_its_comment() -> None:
    """The merged file has another move at Lark's bar 3; her partner wrote a remark beside it."""
    row = '    {at = "8", beats = "8", move = "triquetra"},\n]\n'
    merged = BASE.removesuffix(row) + row.replace("triquetra", "diamond")
    other = BASE.removesuffix(row) + row.replace("},", "},  # mind the lamp")
    done = gather_comments(merged, BASE, merged, other, END)
    assert '    {at = "8", beats = "8", move = "diamond"},  # mind the lamp' in done.text
    assert not done.homeless


def test_what_has_lost_its_place_stands_at_the_end_under_a_title() -> None:
    bow = '    {beat = "8", text = "bow"},  # deep\n'
    merged = BASE.replace(bow, "")
    other = BASE.replace("# deep", "# deep and slow")
    done = gather_comments(merged, BASE, merged, other, END)
    assert [comment.text for comment in done.homeless] == ["# deep and slow"]
    assert done.text.endswith(f"\n\n{END}\n# deep and slow\n")
