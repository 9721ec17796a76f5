"""What no page for a buyer may say."""

from __future__ import annotations

import re

# No certainty from one unit, no engineer's rate, no bare "proven".
FORBIDDEN = re.compile(
    r"guarante|\bsafe(ly|ty|st)?\b|will not trip|\bcertain\b|\bsure\b|C-rate|reliab|(?<!not )\bproven\b|\bnan\b|\binf\b|(?-i:\bNone\b)",
    re.IGNORECASE,
)


def forbidden_in(text: str) -> list[str]:
    """Every forbidden word in a text, line ends forgotten."""
    return [found.group() for found in FORBIDDEN.finditer(" ".join(text.split()))]
