"""Where lines come from. Live sources share one protocol; the screen never asks which kind it has before it."""

from sternwatch.feed.sources.base import Put, Source, SourceState, SourceStatus, Tell

__all__ = ["Put", "Source", "SourceState", "SourceStatus", "Tell"]
