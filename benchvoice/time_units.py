"""The units in which times are said and written at the bench."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["SECONDS_IN", "TIMERS_UP_TO"]

SECONDS_IN: Mapping[str, int] = MappingProxyType({"h": 3600, "min": 60, "s": 1})
"""Unit → how many seconds it has, the largest first."""

TIMERS_UP_TO: Mapping[str, int] = MappingProxyType({"h": 24, "min": 90, "s": 90})
"""Up to how many of each are listened for when a timer is set, and so offered for one."""
