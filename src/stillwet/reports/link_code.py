"""An address as a square code (QR, ISO/IEC 18004) that a phone's camera opens, drawn in SVG."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from stillwet.errors import Problem, StillwetError, shown

_QUIET = 4  # modules of white round the code: ISO/IEC 18004 asks for four
_LONGEST = 200  # characters; a longer one makes modules too small for paper in the field


def link_code_svg(link: str) -> str:
    """The code of a link, black on white; error level M: a smudge of a seventh does no harm."""
    import io

    import segno

    out = io.BytesIO()
    code = segno.make_qr(link, error="m", boost_error=False)
    code.save(
        out, kind="svg", border=_QUIET, dark="#000", light="#fff", omitsize=True, xmldecl=False
    )
    return out.getvalue().decode()


def crew_link(address: str, crew_id: str) -> str:
    """The address of a crew's own page on the server at ``address``."""
    return f"{address.rstrip('/')}/crew/{quote(crew_id, safe='')}"


def need_address(text: str) -> str:
    """The address of a server, as ``stillwet serve`` tells it; refused in words if it is none."""
    plain = text.strip().rstrip("/")
    try:
        parts = urlsplit(plain)
        is_fit = bool(parts.scheme in ("http", "https") and parts.hostname and parts.port != 0)
    except ValueError:  # a port that is no number, a broken IPv6 address
        is_fit = False
    if not is_fit or parts.path or parts.query or parts.fragment or parts.username is not None:
        wanted = 'an address as stillwet serve tells it, such as "http://192.168.7.20:8642"'
        raise StillwetError(Problem("--address", wanted, shown(text)))
    if len(plain) > _LONGEST or not plain.isascii() or any(c.isspace() for c in plain):
        raise StillwetError(
            Problem("--address", f"at most {_LONGEST} plain characters", shown(text))
        )
    return plain
