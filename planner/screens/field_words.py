"""What is wrong with a field, in the words of the form: labels and choices, not the file's keys and brackets."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from planner.errors import Problem
from planner.screens.form import Field, Grid, Group, is_asked
from planner.screens.typed import value_at

# of the readers' own words, in this order: what a writer of the file is told, and what it is in a form
_FILE_TO_FORM: tuple[tuple[str, str], ...] = (
    (r"monthly = 12 rows", "the twelve months"),
    (r"weather and monthly", "the two"),
    (r"Add sun_hours = 12 mean full-sun hours a day, such as", "Fill in sun_hours, twelve of them such as"),
    (r"Write use = \[\{.*\}\]", "Fill in a row of use with its speed"),
    (r"Write the number without quotes", "Enter a number"),
    (r"Write true or false, without quotes", "Choose yes or no"),
    (r"\btrue or false\b", "yes or no"),
    (r"Write year-month-day without quotes", "Enter year-month-day"),
    (r"Write the path in quotes", "Choose a file"),
    (r"the path of a file, from this file's folder|a file's path", "a file of the library"),
    (r"There is no such file: check the path and its spelling", "There is no such file: choose another"),
    (r"Write (?:\w+ = and )?one of these words(?: in quotes)?", "Choose one of these"),
    (r"Put it in quotes", "Enter it as a text"),
    (r"Write a text such as", "Write"),
    (r"a list in square brackets", "several entries"),
    (r"Write (\w+) = \[ … \]", "Enter them one by one"),
    (r"Write the row in square brackets", "Fill in every cell of the row"),
    (r"(?:one or more|at least one) \[\[[\w.]+\]\]", "at least one"),
    (r"Write \[{1,2}[\w.]+\]{1,2} on its own line, its keys below it", "Add one with the button below"),
    (r"^a table$", "fields of its own"),
    (r" \| ", ", "),
    (r"Add \[instruments\.([^\]]+)\]", r'Add a meter called "\1"'),
    (r"not a known key", "not known here"),
    (r"the keys [\w, ]+", "the fields shown"),
    (r"\bof this file\b", "entered here"),
    (r"Leave the key out when it was not measured: absent", "Leave it empty when it was not measured: empty"),
    (r"leave (?:the key|\w+) out\b", "leave it empty"),
    (r"under its own key", "in its own field"),
    (r"\bdelta_deg([CF])\b", r"°\1 apart"),
)  # fmt: skip
_LOAD_KIND = re.compile(r"If the load is a (\w+), give it under the key \1; a")
_EXAMPLE = re.compile(r'\b(\w+) = ("[^"]*"|\[[^=]*\]|[\d.]+)')
_KIND_IS = re.compile(r"\b(\w+) = (\w+)")
_A_NUMBER = re.compile(r"Write (\w+) = and a number")
_TABLE = re.compile(r"\[{1,2}([a-z_]+)(?:[.\d\w]*)\]{1,2}")
_UNDERSCORE = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
_OF_THE_READER = ("without ", "given beside ", "not a known key")  # values that nobody typed


def field_words(problem: Problem, form: tuple[Group, ...], values: dict[str, Any]) -> str:
    """One problem as a sentence for whoever fills in the form.

    form : of the kind of profile. values : the text's own, by which it is known what is asked. What was typed is
    repeated as it was typed.
    """
    words = _Words(problem, form, values)
    typed = problem.value
    if typed.startswith(_OF_THE_READER) or "] then [" in typed:
        typed = words.said(typed)
    found = "" if problem.value == "absent" else f"{typed}. "
    return f"{found}Accepted: {words.said(problem.allowed)}. {words.said(problem.fix)}"


class _Words:
    """The labels around one problem."""

    def __init__(self, problem: Problem, form: tuple[Group, ...], values: dict[str, Any]) -> None:
        parts = problem.key.split(".")
        self._form = form
        self._group = next((group for group in form if group.key == parts[0]), None) or next(
            group for group in form if not group.key
        )
        place = tuple(int(part) if part.isdigit() else part for part in parts[:2])
        table = value_at(values, place) if self._group.rows != "one" else value_at(values, place[:1])
        self._table = table if isinstance(table, dict) else {}
        self._inside = ".".join(parts[2:-1])
        self._labels = dict(self._labelled())
        self._choices = _choices_of(self._group, parts)

    def _labelled(self) -> Iterator[tuple[str, str]]:
        """Key and label of what the group offers; of two with one key, what is asked comes last and stands."""
        offered: list[tuple[Field | Grid, str]] = []
        before = ""
        for field in self._group.fields:
            label = before + field.label[1:] if field.label.startswith("…") else field.label
            label = label.removeprefix("or ")
            before = before if field.label.startswith("…") else label
            offered.append((field, label[:1].upper() + label[1:]))
        for grid in self._group.grids:
            offered += [(column, column.label) for column in grid.columns]
            offered.append((grid, grid.title))
        for entry, label in sorted(offered, key=lambda each: is_asked(each[0], self._table)):
            if not entry.key.isdigit():
                yield entry.key, label

    def said(self, text: str) -> str:
        """A text of the readers in the words of the form."""
        for pattern, words in _FILE_TO_FORM:
            text = re.sub(pattern, words, text)
        text = _LOAD_KIND.sub(self._other_kind, text)
        text = _A_NUMBER.sub(lambda m: f"Fill in {self._label(m[1])} with a number", text)
        if _EXAMPLE.search(text):
            text = re.sub(r"\b([Ww])rite (?=\w+ =)", lambda m: "Fill in " if m[1] == "W" else "fill in ", text)
            text = _EXAMPLE.sub(self._example, text)
        text = _KIND_IS.sub(lambda m: f"{self._label(m[1])} “{self._word(m[1], m[2])}”", text)
        text = _TABLE.sub(lambda m: self._label(m[1]), text)
        text = re.sub(r"\brow of use\b", f"row of {self._label('use')}", text)
        text = self._chosen(text).replace("[", "").replace("]", "")
        return _UNDERSCORE.sub(lambda m: self._label(m[0]), text)

    def _label(self, key: str) -> str:
        """The label a key has here or the title of its group, in quotation marks."""
        title = next((group.title for group in self._form if group.key == key), None)
        label = self._labels.get(f"{self._inside}.{key}") or self._labels.get(key, title)
        return key.replace("_", " ") if label is None else f"“{label}”"

    def _example(self, found: re.Match[str]) -> str:
        example = re.sub(r'[\[\]"{}]', "", found[2])
        return self._label(found[1]) + ("" if example in ("", "…") else f" (such as {example})")

    def _other_kind(self, found: re.Match[str]) -> str:
        """Where a power belongs that was typed as a current, or the other way round."""
        key = found[1]
        if key not in self._labels:
            return "A"
        if "kind" in self._labels and self._group.key == "load":
            return f"If the load is a {key}, choose so under {self._label('kind')}; a"
        return f"If it is a {key}, enter it under {self._label(key)}; a"

    def _word(self, key: str, option: str) -> str:
        field = next((each for each in self._group.fields if each.key == key), None)
        return option if field is None else field.words.get(option, option)

    def _chosen(self, text: str) -> str:
        """The choices by what they are called in the list, where the text names those of the file."""
        if self._choices is None:
            return text
        words = self._choices.words
        if set(text.split(", ")) <= set(self._choices.options):
            return ", ".join(words.get(each, each) for each in text.split(", "))
        return re.sub(r'"(\w+)"', lambda m: f'"{words.get(m[1], m[1])}"', text)


def _choices_of(group: Group, parts: list[str]) -> Field | None:
    """The field of a few words that a problem is at; None where it is at none."""
    return next((field for field in group.fields if field.options and field.key in parts), None)
