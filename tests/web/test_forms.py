"""Path-named fields and the documents they stand for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.domain.errors import InputError
from holdtrue.web import forms

REFERENCE = Path(__file__).parents[1] / "reference"

names = st.from_regex(r"\A[a-z_][a-z0-9_]{0,8}\Z")
texts = st.text(min_size=1, max_size=12).filter(lambda text: text.strip())
documents = st.dictionaries(
    names,
    st.recursive(
        texts,
        lambda inner: (
            st.lists(inner, min_size=1, max_size=3)
            | st.dictionaries(names, inner, min_size=1, max_size=3)
        ),
        max_leaves=12,
    ),
    max_size=4,
)


def depth(node: Any) -> int:
    inner = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    return 1 + max((depth(one) for one in inner), default=0)


@given(documents.filter(lambda document: depth(document) <= forms.DEEPEST))
def test_fields_give_the_document_back(document: dict[str, Any]) -> None:
    fields = list(forms.write_fields(document))

    assert forms.document_of(forms.read_fields(fields)) == document


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_a_whole_job_survives_the_form(name: str) -> None:
    document = json.loads((REFERENCE / f"{name}.job.json").read_text())

    through = forms.document_of(forms.tree_of(document))

    assert through == texts_of(document)


def texts_of(node: Any) -> Any:
    if isinstance(node, dict):
        return {name: texts_of(inner) for name, inner in node.items()}
    if isinstance(node, list):
        return [texts_of(inner) for inner in node]
    return node if isinstance(node, str) else repr(node)


def test_the_numbers_in_brackets_only_order_the_rows() -> None:
    tree = forms.read_fields([("a[7].b", "second"), ("a[2].b", "first")])

    assert tree == {"a": [{"b": "first"}, {"b": "second"}]}


def test_rows_with_nothing_typed_are_left_out() -> None:
    tree = forms.read_fields(
        [("a[0].b", " "), ("a[1].b", "x"), ("a[2].c[0].d", ""), ("e", ""), ("f.g", "")]
    )

    assert forms.without_blank_rows(tree) == {"a": [{"b": "x"}], "e": "", "f": {"g": ""}}
    assert forms.document_of(forms.without_blank_rows(tree)) == {"a": [{"b": "x"}]}


def test_a_blank_gap_keeps_its_place() -> None:
    tree = forms.read_fields([("gap[0]", ""), ("gap[1]", "3"), ("gap[2]", "")])

    assert forms.without_blank_rows(tree) == {"gap": ["", "3"]}


def test_a_blank_cell_of_a_grid_is_left_out() -> None:
    tree = forms.read_fields([("rows[0][0]", "A"), ("rows[0][1]", ""), ("rows[1][0]", "")])

    assert forms.without_blank_rows(tree) == {"rows": [["A"]]}


def test_rows_are_added_and_removed_without_touching_the_others() -> None:
    tree = forms.read_fields([("a[0].b", "one"), ("a[1].b", "two")])

    more = forms.with_row(tree, "a[0].c", {"d": ""})
    fewer = forms.without_row(more, "a[1]")

    assert more == {"a": [{"b": "one", "c": [{"d": ""}]}, {"b": "two"}]}
    assert fewer == {"a": [{"b": "one", "c": [{"d": ""}]}]}
    assert tree == {"a": [{"b": "one"}, {"b": "two"}]}


@pytest.mark.parametrize(
    "name",
    [
        "",
        ".",
        "a.",
        "a..b",
        "a[",
        "a[x]",
        "a[-1]",
        "a[0",
        "[0]",
        "A",
        "a b",
        "a[9999]",
        "a\n",
        "a" * 99,
        "a.b.c.d.e.f.g.h.i",
        "__proto__.x.",
        "a[0]b",
        "\u00e4",
    ],
)
def test_a_name_that_is_no_path_is_refused(name: str) -> None:
    with pytest.raises(InputError):
        forms.read_fields([(name, "x")])


@pytest.mark.parametrize(
    "fields",
    [
        [("a", "x"), ("a.b", "y")],
        [("a.b", "y"), ("a", "x")],
        [("a[0]", "y"), ("a.b", "x")],
    ],
)
def test_fields_that_contradict_each_other_are_refused(fields: list[tuple[str, str]]) -> None:
    with pytest.raises(InputError):
        forms.read_fields(fields)


def test_a_form_of_too_many_fields_is_refused() -> None:
    with pytest.raises(InputError, match="fields"):
        forms.read_fields((f"a{i}", "") for i in range(forms.MOST_FIELDS + 1))


@pytest.mark.parametrize("path", ["a", "a[5]", "b[0]", "a[0].b", "a[0]"])
def test_a_row_that_is_not_there_cannot_be_removed(path: str) -> None:
    with pytest.raises(InputError):
        forms.without_row({"a": "text"}, path)


@pytest.mark.parametrize("path", ["a", "a[0]", "a.b.c", "b[0].c"])
def test_a_row_cannot_be_added_to_what_is_no_list(path: str) -> None:
    with pytest.raises(InputError):
        forms.with_row({"a": "text"}, path, "")


@given(st.lists(st.tuples(st.text(max_size=20), st.text(max_size=5)), max_size=20))
def test_any_fields_are_read_or_refused(fields: list[tuple[str, str]]) -> None:
    try:
        tree = forms.read_fields(fields)
    except InputError:
        return
    assert isinstance(forms.document_of(tree), dict)
