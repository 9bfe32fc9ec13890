"""Tablets on the local network: where they open the app, and how one comes to trust this computer."""

import segno
from fastapi import APIRouter, Request, Response

from app.rules.tablets import TRUST_STEPS, LocalNetwork, suggest_trust_steps
from app.store.database import Missing
from app.web.kit import page

routes = APIRouter()


@routes.get("/tablets")
def show_tablets(request: Request) -> Response:
    network = _network_of(request)
    trust_code = _code(network.trust_address) if network else ""
    code = _code(network.address) if network else ""
    return page(request, "tablets/show.html", network=network, trust_code=trust_code, code=code)


@routes.get("/trust")
def show_trust(request: Request) -> Response:
    """For a tablet that does not trust this computer yet; the one page that also comes by plain HTTP."""
    mine = suggest_trust_steps(request.headers.get("user-agent", ""))
    return page(request, "tablets/trust.html", network=_network_of(request), steps=TRUST_STEPS, mine=mine)


@routes.get("/trust/ohmstead-authority.crt")
def download_authority(request: Request) -> Response:
    """The authority's public part. Its private key never leaves the data folder."""
    network = _network_of(request)
    if network is None:
        raise Missing("authority: the app is not on the local network")
    # Not as an attachment: a tablet then takes it up as a certificate instead of putting it among its files.
    return Response(network.authority, media_type="application/x-x509-ca-cert")


def _network_of(request: Request) -> LocalNetwork | None:
    network: LocalNetwork | None = request.app.state.local_network
    return network


def _code(address: str) -> str:
    """A QR code as the address of a picture."""
    return str(segno.make(address, error="m", micro=False).svg_data_uri(border=4, light="#fff", scale=6))
