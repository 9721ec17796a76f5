"""Voltage measured less modelled along a discharge, as a chart: what the model does not follow."""

from __future__ import annotations

import pandas as pd

from planner.constants import COULOMB_PER_AH
from planner.explain.chart_look import BLUE, GREY, Figure, field, layer, told, whole
from planner.explain.entry_names import entry_named
from planner.verdict.residuals import Residual

HEIGHT = 220


def residual_figure(found: Residual) -> Figure:
    """Difference [mV] over the charge taken out [Ah]; above zero the battery read higher than the model."""
    frame = pd.DataFrame({"ah": found.charge_c / COULOMB_PER_AH, "mv": 1e3 * found.off_v}).round(3)
    test = entry_named(found.place)
    title = (
        f"On {test} the model follows the measured voltage to {1e3 * found.rms_v:.0f} mV (root mean square), "
        f"at worst {1e3 * found.worst_v:.0f} mV"
    )
    x = field("ah", "Charge taken out (Ah)", axis={"grid": False, "tickCount": 6})
    y = field("mv", "Measured less model (mV)", axis={"tickCount": 5, "minExtent": 34})
    tips = [told("ah", "Charge (Ah)", ".2f"), told("mv", "Measured less model (mV)", ".1f")]
    zero = pd.DataFrame({"mv": [0.0]})
    layers = [
        layer(
            "zero", "rule", {"color": GREY, "strokeDash": [4, 3]}, y=field("mv", "Measured less model (mV)")
        ),
        layer("off", "line", {"color": BLUE, "strokeWidth": 1.5}, x=x, y=y),
        layer("off", "point", {"color": BLUE, "size": 18, "filled": True}, x=x, y=y, tooltip=tips),
    ]
    table = frame.rename(columns={"ah": "Charge taken out (Ah)", "mv": "Measured less model (mV)"})
    legend = "Line and points: measured voltage less the model's. Dashed: no difference. The steep knee shows most."
    key = "residual_" + found.place.replace(".", "_")
    return Figure(
        key, title, legend, f"{title}.", table, whole(title, HEIGHT, layers, {"zero": zero, "off": frame})
    )
