"""The JSON side: judging cases and adding up invoices for other programs. It keeps nothing and needs no database.

Bad input is answered with 422 and a list of {path, message}; the description is an OpenAPI document of these
addresses alone.
"""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse, Response

from app.rules.case_fields import parse_json
from app.rules.case_parsing import CaseProblems
from app.rules.case_schema import ANSWER_SCHEMA, CASE_SCHEMA
from app.rules.cases import judge_cases
from app.rules.invoice_previews import total_invoice_cases

routes = APIRouter()
CASES_MOST = 20_000


@routes.post("/api/judge")
async def show_judged_cases(request: Request) -> Response:
    """Judge one case or a list of cases."""
    return await run_in_threadpool(_answer, await request.body(), judge_cases)


@routes.post("/api/invoices/preview")
async def show_invoice_preview(request: Request) -> Response:
    """Add up one invoice or a list of invoices by EN 16931."""
    return await run_in_threadpool(_answer, await request.body(), total_invoice_cases)


@routes.get("/api/description.json")
def show_description() -> Response:
    """What the JSON side takes and answers."""
    return JSONResponse(_description())


def _answer(body: bytes, work: Callable[[object], list[dict[str, Any]]]) -> Response:
    try:
        data = parse_json(body)
    except (ValueError, RecursionError) as problem:
        return _problems([{"path": "/", "message": f"this is not JSON: {problem}"}])
    if isinstance(data, list) and len(data) > CASES_MOST:
        return _problems([{"path": "/", "message": f"at most {CASES_MOST:,} cases at a time"}])
    try:
        return JSONResponse(work(data))
    except CaseProblems as wrong:
        return _problems(wrong.problems)


def _problems(problems: list[dict[str, str]]) -> Response:
    return JSONResponse(problems, status_code=422)


def _description() -> dict[str, Any]:
    """The OpenAPI document of the JSON side."""

    def deed(summary: str, sent: Any, answer: Any) -> dict[str, Any]:
        problem = {"type": "object", "required": ["path", "message"],
                   "properties": {"path": {"type": "string"}, "message": {"type": "string"}}}  # fmt: skip
        return {
            "post": {
                "summary": summary,
                "requestBody": {"required": True, "content": {"application/json": {"schema": sent}}},
                "responses": {
                    "200": _body("In the order of what was sent", {"type": "array", "items": answer}),
                    "422": _body("What is wrong, and where (JSON Pointer)", {"type": "array", "items": problem}),
                },
            }
        }

    one_or_many = {"oneOf": [CASE_SCHEMA, {"type": "array", "items": CASE_SCHEMA, "maxItems": CASES_MOST}]}
    return {
        "openapi": "3.1.0",
        "info": {"title": "Ohmstead", "version": "1"},
        "paths": {
            "/api/judge": deed("Judge the readings of one item, or of many", one_or_many, ANSWER_SCHEMA),
            "/api/invoices/preview": deed(
                "Add up invoices by EN 16931", {"type": ["object", "array"]}, {"type": "object"}
            ),
        },
    }


def _body(description: str, schema: Any) -> dict[str, Any]:
    return {"description": description, "content": {"application/json": {"schema": schema}}}
