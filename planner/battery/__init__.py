"""What the tested unit is: its circuit and its fit, its envelope, its charge gate, its terminals."""
