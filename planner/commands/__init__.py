"""The commands of the command line, one module each.

A command's module has HELP (one line), EXAMPLE (its words on the demo data), `arguments(parser)` and
`run(arguments) -> str | None`, the text to print. What is slow to import is imported inside `run`, so that every
command starts as quickly as it can.
"""

# module names in the order of the help; a command is its module's name with "-" for "_"
COMMANDS = (
    "fit",
    "winter",
    "log",
    "audit",
    "limits",
    "sensitivity",
    "compare",
    "sweep",
    "fleet",
    "follow_up",
    "next_test",
    "sheet",
    "check",
)
