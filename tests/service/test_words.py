"""What the service says by itself."""

from __future__ import annotations

from coach.service.words import CAUTIONS


def test_the_cautions_are_of_hands_and_ears_and_leave_medicine_to_clinicians() -> None:
    hands, ears = CAUTIONS

    assert "clinician" in hands
    assert "headphones" in ears
