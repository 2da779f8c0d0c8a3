"""The API answers as it describes itself, whatever it is asked: held against by schemathesis."""

from __future__ import annotations

from collections import Counter
from typing import Any

import hypothesis
import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import strategies as st
from schemathesis.generation import GenerationMode

from lineproof.web.app import app
from lineproof.web.breaking import known
from lineproof.web.views.lines import lines
from lineproof.web.watch import Watch
from lineproof.web.worked import Worked

HERE = "http://127.0.0.1:8461"
#: What every operation can be asked, by the words after /api/.
ASKED = ("lines", "lines/{key}", "room", "broken", "rescue", "papers", "revisions")
UNASKED = ("ready", "drill", "gains", "nets")


@pytest.fixture(scope="module")
def served(small: Worked) -> FastAPI:
    """Give the server of the small show."""
    return app(Watch.of(small))


def operation(served: FastAPI, name: str) -> Any:
    """Give one operation of the API, as its own description has it."""
    schema = schemathesis.openapi.from_dict(served.openapi())
    schema.app = served
    return schema[f"/api/{name}"]["GET"]


def answered(
    each: Any,
    mode: GenerationMode = GenerationMode.POSITIVE,
    put: tuple[str, str, st.SearchStrategy[Any]] | None = None,
) -> Counter[int]:
    """Ask many times and hold every answer to the description; give how it was answered.

    `put`: where (path or query), under which name, and what is asked instead of what is drawn.
    """
    told: Counter[int] = Counter()

    @hypothesis.settings(max_examples=40, suppress_health_check=list(hypothesis.HealthCheck))
    @hypothesis.given(
        case=each.as_strategy(generation_mode=mode), real=put[2] if put is not None else st.none()
    )
    def ask(case: Any, real: Any) -> None:
        if put is not None:
            getattr(case, put[0])[put[1]] = real
        answer = case.call(base_url=HERE)
        case.validate_response(answer)
        told[answer.status_code] += 1

    ask()
    return told


def test_every_operation_is_tried(served: FastAPI) -> None:
    assert set(served.openapi()["paths"]) == {f"/api/{name}" for name in (*ASKED, *UNASKED)}


@pytest.mark.parametrize("name", [*ASKED, *UNASKED])
def test_what_fits_the_description_is_answered_as_described(served: FastAPI, name: str) -> None:
    told = answered(operation(served, name), GenerationMode.POSITIVE)
    assert set(told) <= {200, 404}
    assert name == "lines/{key}" or set(told) == {200}


@pytest.mark.parametrize("name", [name for name in ASKED if "{" not in name])
def test_what_does_not_fit_is_refused_as_described(served: FastAPI, name: str) -> None:
    told = answered(operation(served, name), GenerationMode.NEGATIVE)
    assert 422 in told
    assert set(told) <= {200, 422}


def test_every_line_is_answered_as_described(served: FastAPI, small: Worked) -> None:
    keys = [row.key for group in lines(small).groups for row in group.rows]

    put = ("path_parameters", "key", st.sampled_from(keys))
    assert set(answered(operation(served, "lines/{key}"), put=put)) == {200}


@pytest.mark.parametrize("name", ["room", "broken", "rescue"])
def test_whatever_is_broken_is_answered_as_described(
    served: FastAPI, small: Worked, name: str
) -> None:
    names = sorted(map(str, known(small).values()))

    put = ("query", "cut", st.lists(st.sampled_from(names), max_size=5))
    assert set(answered(operation(served, name), put=put)) == {200}
