"""Many scenarios of one outing on one battery or bank, at once."""
