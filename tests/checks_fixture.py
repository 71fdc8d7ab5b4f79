"""Invented proportioner checks: timed draws of known truth, with errors of known size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from stillwet.domain.products import RatioBasis
from stillwet.domain.proportioner import Measured, Method, ProportionerCheck

DAY = 86400.0
START = 1_899_979_200.0  # noon UTC
FLOW = 0.0019  # m3/s, 30 gal/min


def make_check(**changes: Any) -> ProportionerCheck:
    """A minute's draw at a dial of 1 % that delivers 1 %: flow to 2 %, draw to 10 mL."""
    values: dict[str, Any] = {
        "id": "c1",
        "when_s": START,
        "device": "Injector",
        "method": Method.TIMED_DRAW,
        "dial": Measured(0.01, 0.0001),
        "ratio_basis": RatioBasis.VOLUME,
        "readings": {
            "drawn": Measured(0.01 * 60.0 * FLOW, 1e-5),
            "seconds": Measured(60.0, 0.3),
            "mix_flow": Measured(FLOW, 0.02 * FLOW),
        },
        "flow_m3_s": FLOW,
    }
    return ProportionerCheck(**(values | changes))


def draws(
    delivered: Sequence[float],
    *,
    dials: Sequence[float] | None = None,
    flows: Sequence[float] | None = None,
    days: Sequence[float] | None = None,
) -> tuple[ProportionerCheck, ...]:
    """Timed draws that read exactly these delivered ratios."""
    count = len(delivered)
    dials = [0.01] * count if dials is None else dials
    flows = [FLOW] * count if flows is None else flows
    days = [float(np.floor(i / 2)) + 0.01 * (i % 2) for i in range(count)] if days is None else days
    return tuple(
        make_check(
            id=f"c{index}",
            when_s=START + DAY * day,
            dial=Measured(dial, 0.01 * dial),
            flow_m3_s=flow,
            readings={
                "drawn": Measured(ratio * 60.0 * flow, 1e-5),
                "seconds": Measured(60.0, 0.3),
                "mix_flow": Measured(flow, 0.02 * flow),
            },
        )
        for index, (ratio, dial, flow, day) in enumerate(
            zip(delivered, dials, flows, days, strict=True)
        )
    )
