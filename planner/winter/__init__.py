"""Where it lives: weather, cell temperature, charge sources, and the year hour by hour."""
