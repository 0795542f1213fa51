"""Invented requests to every address of the API, within its description and beyond (schemathesis, from the description below).

Whatever is sent, the answer is of a kind the description names: never a bug (500), never a page of another kind, and a refusal
says what and how out.  Limits: the events' stream does not end, and long work is not begun here (test_work.py does).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import Case

from tests.web.serving import KEY, Served, served

COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
TEXT, NUMBER, WHOLE = {"type": "string"}, {"type": "number"}, {"type": "integer"}
ANYTHING: dict[str, Any] = {}
ROW = {"type": "object", "additionalProperties": ANYTHING}
EDIT = {"oneOf": [
    {"type": "object", "required": ["do", "at", "value"], "properties": {
        "do": {"enum": ["set"]}, "at": {"enum": ["cover.thickness", "name", "bolts.thread", "plate.ribs", "nothing.here"]},
        "value": ANYTHING}},
    {"type": "object", "required": ["do", "at"], "properties": {"do": {"enum": ["remove", "table", "untable"]}, "at": TEXT,
                                                                 "row": ROW}},
    {"type": "object", "required": ["do", "table", "row"], "properties": {
        "do": {"enum": ["add", "change", "drop"]}, "table": {"enum": ["reading", "role", "hole", "photo", "trial"]},
        "index": WHOLE, "row": ROW}}]}
EXAMPLES = 12
"""Of each address; a hundred and more by hand."""
STAMP = {"type": "object", "required": ["stamp"], "properties": {"stamp": TEXT}}
EDITS = {"type": "object", "required": ["stamp", "edits"],
         "properties": {"stamp": TEXT, "edits": {"type": "array", "items": EDIT}}}
TASK = {"type": "object", "required": ["what"], "properties": {
    "what": {"enum": ["compare", "verify", "polish", ""]}, "folders": {"type": "array", "items": TEXT}, "release": TEXT,
    "weights": {"type": "object", "additionalProperties": NUMBER}}}
WEIGHING = {"type": "object", "required": ["comparison", "weights"], "properties": {
    "comparison": {"type": "object", "required": ["names", "rows"], "properties": {
        "names": {"type": "array", "items": TEXT}, "scores": {"type": "array", "items": NUMBER},
        "winners": {"type": "array", "items": TEXT}, "tippings": {"type": "array", "maxItems": 0},
        "printability": {"type": "array", "maxItems": 0}, "worst": {"type": "array", "items": TEXT},
        "rows": {"type": "array", "items": {"type": "object", "properties": {
            "figure": TEXT, "unit": TEXT, "better": {"enum": ["more", "less"]}, "weight": NUMBER,
            "values": {"type": "array", "items": NUMBER}, "winners": {"type": "array", "items": TEXT}}}}}},
    "weights": {"type": "object", "additionalProperties": NUMBER}}}
KINDS = {"200": "done", "400": "no request", "403": "not let in", "404": "not there", "405": "not done here",
         "409": "the job has changed since", "413": "too large", "422": "cannot be used"}


def operation(*parameters: tuple[str, str, dict[str, Any]], body: dict[str, Any] | None = None) -> dict[str, Any]:
    told: dict[str, Any] = {
        "parameters": [{"name": name, "in": place, "required": place == "path", "schema": kind}
                       for name, place, kind in parameters],
        "responses": {status: {"description": words} for status, words in KINDS.items()}}
    if body is not None:
        told["requestBody"] = {"required": True, "content": {"application/json": {"schema": body}}}
    return told


SCHEMA: dict[str, Any] = {"openapi": "3.1.0", "info": {"title": "job sheet", "version": "1"}, "paths": {
    **{f"/api/{name}": {"get": operation()} for name in ("sheet", "job", "schema", "outline", "pieces", "findings", "release",
                                                        "mate")},
    "/api/edits": {"post": operation(body=EDITS)}, "/api/undo": {"post": operation(body=STAMP)},
    "/api/redo": {"post": operation(body=STAMP)}, "/api/tasks": {"post": operation(body=TASK)},
    "/api/weighing": {"post": operation(body=WEIGHING)},
    "/api/tasks/{task}": {"delete": operation(("task", "path", TEXT))},
    "/api/photo/{number}": {"get": operation(("number", "path", TEXT))},
    "/api/photo/{number}/picture": {"get": operation(("number", "path", TEXT))},
    "/api/photo/{number}/laid": {"get": operation(("number", "path", TEXT))},
    "/api/file/{area}/{name}": {"get": operation(("area", "path", {"enum": ["job", "plate", "pieces", "release", "x"]}),
                                                 ("name", "path", TEXT))},
    "/api/advice": {"get": operation(*((name, "query", ANYTHING) for name in ("width", "height", "face_height", "lens_35mm")))}}}


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    start = tmp_path_factory.mktemp("shape")
    folder = start / "cover"
    folder.mkdir()
    for name in ("job.toml", "inlet_cover.jpg"):
        shutil.copyfile(COVER / name, folder / name)
    with served(start, folder) as running:
        yield running


DESCRIBED = schemathesis.openapi.from_dict(SCHEMA)
OPERATIONS = [(method, path) for path, told in SCHEMA["paths"].items() for method in told]


@pytest.mark.parametrize(("method", "path"), OPERATIONS, ids=[f"{method} {path}" for method, path in OPERATIONS])
def test_whatever_is_asked_is_answered_in_kind(method: str, path: str, page: Served) -> None:
    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))
    @given(case=DESCRIBED[path][method].as_strategy())
    def answered(case: Case) -> None:
        if isinstance(case.body, dict) and case.body.get("edits"):
            case.body["stamp"] = page.office.desk.stamp  # else every change would only be too late
        answer = case.call(base_url=page.url, headers={"X-Afterpart-Key": KEY, "Origin": page.url}, timeout=120.0)
        assert str(answer.status_code) in KINDS, (case.method, case.path, case.body, answer.text[:300])
        if answer.status_code not in (200, 400):
            assert answer.json()["message"], (case.method, case.path, answer.text[:300])
        assert page.office.desk.job is not None, "the job can still be used"

    answered()
