"""Where the battery meets the boat: conductors, overcurrent protection, joints, inverter input, motor start.

Plain numbers in SI units; nothing here knows a record, an outing or a screen.
"""
