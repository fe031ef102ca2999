"""
Revision, day and what is superseded, given on the command line, into requirements that say otherwise or nothing.

Comes in as requirements and a few words; goes out as requirements, with the faults that the scenario file would get.
"""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from allocator.errors import InputError
from allocator.requirements.markings import Issue
from allocator.requirements.places import Spot
from allocator.requirements.scenario import Requirements
from allocator.requirements.translating import faults_of


def with_issue(requirements: Requirements, given: Mapping[str, str | None]) -> Requirements:
    """
    Return requirements whose paper says of itself what was given.

    Parameters
    ----------
    requirements
        Of a scenario or of a plan.
    given
        ``revision``, ``date``, ``supersedes``; None keeps what the requirements say.

    Raises
    ------
    InputError
        If a value is one that ``[document]`` could not hold.
    """
    said = {name: value for name, value in given.items() if value is not None}
    if not said:
        return requirements
    try:
        issue = Issue.model_validate(requirements.scenario.document.model_dump() | said)
    except ValidationError as error:
        spot = Spot("command line", "", "the options", (0,), said)
        raise InputError([placed.fault for placed in faults_of(error, Issue, spot, frozenset())]) from None
    scenario = requirements.scenario.model_copy(update={"document": issue})
    return requirements.model_copy(update={"scenario": scenario})
