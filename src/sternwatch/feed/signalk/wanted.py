"""The paths that we want from a Signal K server, and the request for them (Signal K specification 1.7)."""

from __future__ import annotations

import json

PATHS = (
    "navigation.speedThroughWater",
    "navigation.speedOverGround",
    "navigation.courseOverGroundTrue",
    "navigation.headingMagnetic",
    "navigation.headingTrue",
    "navigation.magneticVariation",
    "navigation.position",
    "navigation.datetime",
    "environment.depth.belowTransducer",
    "environment.depth.belowSurface",
    "environment.depth.belowKeel",
    "environment.water.temperature",
)

SUBSCRIBE = json.dumps(
    {
        "context": "vessels.self",
        "subscribe": [{"path": path, "format": "delta", "policy": "instant"} for path in PATHS],
    }
)
SUBSCRIPTION = SUBSCRIBE.encode() + b"\r\n"
