"""HTTP/1.1 with an end to patience: whoever drips a request's head in is let go.

The library bounds how large a head may be and how long a quiet connection is kept, but not how
long a head may take: without this, a few hundred connections that never finish theirs would use up
all that the server takes.
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_LIMIT_S = 10.0  # from connecting, or from the first byte of the next request, to its end


class HurriedProtocol(H11Protocol):
    """One connection. Between a whole head and the end of its answer no clock runs here."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the clock of the first head."""
        super().connection_made(transport)
        self._start()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the clock."""
        self._stop()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Stop the clock when a head is whole; start it with the first bytes of the next."""
        before = self.cycle
        super().data_received(data)
        if self.cycle is not before:
            self._stop()
        elif before is None or before.response_complete:
            self._start()

    def _start(self) -> None:
        if self._patience is None:
            self._patience = self.loop.call_later(HEAD_LIMIT_S, self.transport.close)

    def _stop(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None
