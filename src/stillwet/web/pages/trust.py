"""/trust: how a phone installs this machine's authority, what that means, how to undo it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.errors import Problem
from stillwet.web.door import Door, Role
from stillwet.web.house import house_of
from stillwet.web.show import bare_page
from stillwet.web.trouble import RefusedError

FILE = "stillwet-authority.crt"


async def trust(request: Request) -> Response:
    """The explanation; it shows nothing of the job, so that a phone can read it before joining."""
    house = house_of(request)
    made = house.authority
    return bare_page(
        request,
        "trust.html",
        "HTTPS for phones",
        fingerprint="" if made is None else made.fingerprint,
        secure=house.place.phone_address("https"),
        file=FILE,
    )


async def certificate(request: Request) -> Response:
    """The authority's certificate, its public part only (RFC 2585 names the media type)."""
    made = house_of(request).authority
    if made is None:
        wanted, hint = "a server with HTTPS", "start it with --network"
        raise RefusedError(404, Problem("authority", wanted, "one without", "", hint))
    headers = {"content-disposition": f'attachment; filename="{FILE}"'}
    return Response(made.certificate_der, media_type="application/x-x509-ca-cert", headers=headers)


DOORS = (
    Door("/trust", trust, role=Role.NOBODY),
    Door(
        "/api/authority.crt",
        certificate,
        role=Role.NOBODY,
        says="The certificate of this machine's authority (DER), its public part",
        gives={"type": "string", "format": "binary"},
        media="application/x-x509-ca-cert",
    ),
)
