"""What the theme cannot say: the verdict that stays in view, and tables of fields with one head."""

from __future__ import annotations

import streamlit as st

BAR, GRID = "verdict_bar", "grid_row"
_STYLE = """<style>
/* lists and small windows hang below the body, where the framework does not say which look is in use: the system's */
:root {{ color-scheme: light dark; }}
/* the framework's own bar at the top is 3.75rem high */
[data-testid="stLayoutWrapper"]:has(> .st-key-{bar}) {{
  position: sticky; top: 3.75rem; z-index: 90; background: light-dark({light}, {dark});
  border-bottom: 1px solid light-dark({light_line}, {dark_line}); padding-block: 0.35rem;
}}
.st-key-{bar} p {{ margin-bottom: 0; }}
.st-key-{bar} [data-testid="stMarkdownContainer"], .st-key-{bar} [data-testid="stCaptionContainer"] {{
  margin-bottom: 0;
}}
[data-testid="stMainBlockContainer"] {{ padding-top: 4.25rem; }}
/* the framework closes an open list when the page scrolls, and the browser scrolls by itself to make up for a verdict
   above that grew by a line: while a list is open it does not */
[data-testid="stMain"]:has([role="combobox"][aria-expanded="true"]) {{ overflow-anchor: none; }}
/* a link beside words looks like one */
[data-testid="stPageLink"] p {{ color: light-dark({light_link}, {dark_link}); text-decoration: underline; }}
/* the chosen one of several: in the primary colour its words would be too faint in the dark */
button[data-selected="true"] p {{ color: light-dark({light_link}, {dark_link}); }}
/* the name of a field that cannot be changed is to be read all the same */
[data-testid="stWidgetLabel"] p {{ color: light-dark({light_text}, {dark_text}); }}
/* one head for a table of fields: the labels below the first row are read aloud and not shown */
@media (min-width: 640px) {{
  [class*="st-key-{grid}_later"] [data-testid="stWidgetLabel"] {{
    position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%);
  }}
  [class*="st-key-{grid}_first"] [data-testid="stButton"] {{ margin-top: 1.75rem; }}
}}
/* on a phone the verdict stays in view and leaves room for what it is about */
@media (max-width: 639px) {{
  .st-key-{bar} p {{ font-size: 0.875rem; line-height: 1.3; }}
}}
</style>"""


def look() -> None:
    """Add it to the page. All of it is our own text."""
    colours = {
        "light": st.get_option("theme.light.backgroundColor"),
        "dark": st.get_option("theme.dark.backgroundColor"),
        "light_link": st.get_option("theme.light.linkColor"),
        "dark_link": st.get_option("theme.dark.linkColor"),
        "light_line": st.get_option("theme.light.borderColor"),
        "dark_line": st.get_option("theme.dark.borderColor"),
        "light_text": st.get_option("theme.light.textColor"),
        "dark_text": st.get_option("theme.dark.textColor"),
    }
    st.html(_STYLE.format(bar=BAR, grid=GRID, **colours))
