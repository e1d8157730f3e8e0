"""The cautions say what a careful workshop has to be told, each in one plain sentence or two."""

from __future__ import annotations

import pytest

from ropewalk.workshop.cautions import CAUTIONS


@pytest.mark.parametrize(
    "words",
    [
        ("estimate", "does not prove that a brake works"),
        ("makers' instructions", "override"),
        ("Cut long", "try", "trim"),
        (
            "lock to lock",
            "pulls each brake hard standing still",
            "rides slowly",
            "competent mechanic",
            "Before release",
        ),
        ("local law", "lever"),
        ("Drilling", "frame", "destroy", "warranty"),
    ],
)
def test_each_of_these_is_said(words: tuple[str, ...]) -> None:
    assert [caution for caution in CAUTIONS if all(word in caution for word in words)]


def test_they_are_plain_and_said_once() -> None:
    assert len(set(CAUTIONS)) == len(CAUTIONS)
    for caution in CAUTIONS:
        assert caution.endswith(".")
        assert caution.isprintable()
