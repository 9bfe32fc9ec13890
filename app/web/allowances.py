"""Withdrawing what the owner allowed about the instrument of a visit."""

from fastapi import APIRouter, Response

from app.actions.visit_instruments import withdraw_allowance
from app.web.kit import Doing, Sent, go

routes = APIRouter()


@routes.post("/visits/{visit_id}/withdraw-allowance")
def save_withdrawal(deed: Doing, sent: Sent, visit_id: int) -> Response:
    """Nothing more is recorded by it; what was measured while it stood is printed with it."""
    place = sent.whole("place", 0, 1000)
    withdraw_allowance(deed, visit_id, -1 if place is None else place)
    return go(f"/visits/{visit_id}")
