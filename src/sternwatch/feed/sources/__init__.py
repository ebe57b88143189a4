"""The room of sources of lines. All live sources share one protocol, so the screen need not know their kinds."""

from sternwatch.feed.sources.base import Put, Source, SourceState, SourceStatus, Tell

__all__ = ["Put", "Source", "SourceState", "SourceStatus", "Tell"]
