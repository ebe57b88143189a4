"""Makes one HTML page to print: its style and its head. It has no script and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from sternwatch.cautions import COMPUTED, NO_GUARANTEE, WIRE

_STYLE = """
@page { size: landscape; margin: 8mm }
body { font: 10pt/1.25 sans-serif; color: #000; background: #fff; margin: 1em }
h1 { font-size: 1.3em; margin: 0 .8em .2em 0; display: inline-block }
h2 { font-size: 1.15em; margin: 0 }
p { margin: .15em 0 }
.computed { font-weight: bold; border: 2px solid #000; padding: .15em .5em; display: inline-block }
.cards { margin-top: .4em; orphans: 1; widows: 1 }
section { display: inline-block; vertical-align: top; margin: .3em 1.6em .3em 0; break-inside: avoid }
table { border-collapse: collapse; margin-top: .2em }
th, td { border: 1px solid #777; padding: .05em .35em; text-align: right; white-space: nowrap }
th.first, td.first { border-left: 2px solid #000 }
th[colspan] { text-align: center }
td b { font-size: 1.1em }
td small { color: #333 }
tr:nth-child(even) td { background: #eee }
@media print { body { font-size: 8pt; margin: 0 } }
""".strip()


def framed(what: str, title: str, notes: Sequence[str], body: str) -> str:
    """A page to print for the deck: its title, "computed", notes, the wire, and ``body``, which is HTML already."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            f"<title>{escape(what)}: {escape(title)}</title>",
            f"<style>{_STYLE}</style></head><body>",
            f"<h1>{escape(what)}: {escape(title)}</h1>",
            f'<p class="computed">{escape(COMPUTED)}</p>',
            *(f"<p>{escape(note)}</p>" for note in notes),
            f"<p><b>{escape(WIRE)}</b></p>",
            body,
            f"<p><b>{escape(NO_GUARANTEE)}</b></p>",
            "</body></html>",
            "",
        ]
    )
