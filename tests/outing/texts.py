"""Invented texts of outings and of a log that tests of the readers begin from."""

TOP = """format = 1
name = "Invented morning"
duration = "6 h"
ambient = "12 degC"
"""
# Invented log, seconds and amperes, with uneven steps.
LOG = "Time (s),Current (A)\n0,5\n10,60\n20,60\n30,20\n90,8\n300,45\n310,8\n600,8\n"
LOG_LOAD = '[[load]]\nname = "log"\nkind = "recorded"\nlog = "log.csv"\n'
