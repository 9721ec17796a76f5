"""The sheet as one HTML file that needs nothing else: texts escaped, charts inside, no script, no request."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from planner.explain.sheet import Part, Sheet
from planner.explain.sheet_charts import Picture
from planner.explain.sheet_evidence import Table

STYLE = """
body{font:1rem/1.45 Georgia,serif;max-width:48rem;margin:1rem auto;padding:0 1rem;color:#1a1a1a;background:#fff}
h1{font-size:1.4rem;border-left:.4rem solid;padding-left:.7rem}h2{font-size:1.1rem;margin-top:1.5rem}
table{border-collapse:collapse;width:100%;font-size:.85rem}
th,td{text-align:left;vertical-align:top;padding:.2rem .4rem;border-bottom:1px solid #bbb}
.wide{overflow-x:auto}figure{margin:1rem 0}svg{max-width:100%;height:auto}code{overflow-wrap:anywhere}
.evidence{break-before:page;border-top:2px solid #888;margin-top:2rem}
"""
POLICY = "default-src 'none'; style-src 'unsafe-inline'"  # nothing is fetched, nothing runs


def html_text(sheet: Sheet, pictures: Iterable[Picture]) -> str:
    """The whole file."""
    title = escape(f"{sheet.battery}: {sheet.outing}")
    body = [
        f"<h1>{escape(sheet.headline)}</h1>",
        *(f"<p>{escape(line)}</p>" for line in sheet.about),
        *(_part(part) for part in (*sheet.parts, sheet.cautions)),
        f"<p>{'<br>'.join(map(escape, sheet.tester.splitlines()))}</p>" if sheet.tester else "",
        '<section class="evidence"><h2>Evidence</h2>',
        *(_table(table) for table in sheet.tables),
        *(_figure(one) for one in pictures),
        _part(sheet.notes),
        "<h2>To make this sheet again</h2><ul>",
        *(f"<li>{escape(label)}: <code>{escape(value)}</code></li>" for label, value in sheet.made_with),
        "</ul></section>",
    ]
    head = (
        f'<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(POLICY)}">'
        f"<title>{title}</title><style>{STYLE}</style>"
    )
    shown = "\n".join(line for line in body if line)
    return f'<!doctype html>\n<html lang="en"><head>{head}</head><body><main>\n{shown}\n</main></body></html>\n'


def _part(part: Part) -> str:
    if not part.items:
        return ""
    items = "".join(f"<li>{escape(item)}</li>" for item in part.items)
    return f"<h2>{escape(part.heading)}</h2><ul>{items}</ul>"


def _table(table: Table) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in table.heads)
    rows = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in table.rows)
    notes = "".join(f"<p>{escape(note)}</p>" for note in table.notes)
    shown = f'<div class="wide"><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>'
    return f"<h3>{escape(table.heading)}</h3>{shown if table.rows else ''}{notes}"


def _figure(one: Picture) -> str:
    return (
        f'<figure><div role="img" aria-label="{escape(one.alt)}">{one.svg}</div>'
        f"<figcaption>{escape(one.legend)}</figcaption></figure>"
    )
