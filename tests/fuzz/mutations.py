"""Inputs made worse: seeded changes of good files, and what a hostile hand would put into them."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable

LONG = "x" * 1_000_000
# Texts that have hurt readers of people's input: markup of pages and paper, formulas, letters that turn a line round
# or cannot be seen, terminal controls, paths, numbers of every wrong sort.
NASTY_TEXTS = (
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "#eval(\"1\")", "#read(\"/etc/passwd\")", "$x^2$", "*b*",
    "[x](javascript:alert(1))", ":material/delete:", "=1+1", "=cmd|' /C calc'!A0", "@SUM(A1)", "+1", "-1", "\\u202e321",
    "\\u200b", "a\\u200bb", "\\u2066x", "\\u001b[2J", "\\u0000", "\\u007f", "\\ud7ff", "../../etc/passwd", "/etc/passwd",
    "C:\\\\x", "con", "nul.toml", ".", "..", "", " ", "\\n", "\\t", "é", "e\\u0301", "\u05e9\u05dc\u05d5\u05dd", "\U0001f6a4", "%s%n", "{0}", "${x}",
    "nan", "inf", "-inf", "1e999", "0x10", "1_000", "12,5 V", "1 250 W", "1'000 W", "١٢ V", "１２ V", "5 C", "5 F",
    "30 m", "100 ah", "9**9**9 W", "1e99 A", "1e-99 A", "0 A", "-1 A", "999999999 A", "1e9 h", "0 s", "1e-9 s", "0 V",
    "-300 degC", "1e5 degC", "0 K", "100 %", "101 %", "-1 %", "1e9 %", "AWG 4/0", "AWG 99", "AWG -3", "5 h 10 min 3 s 1 ms",
    "5 h 5 h", "1 delta_degC", "0 Ah", "1e-9 Ah", "1e9 Ah", "1e-9 ohm", "kWh", "K",
)  # fmt: skip
NASTY_VALUES = (
    "0", "-1", "1", "1e400", "-0.0", "nan", "inf", "9" * 400, "9" * 5000, "0x7fffffffffffffff", "true", "1979-05-27", "2026-02-30",
    "07:32:00", "2026-01-01T00:00:00Z", "[]", "{}", "[[]]", "[" * 60 + "]" * 60, "[" * 5000 + "]" * 5000, "{ a = 1 }",
    "[1, \"a\", true]", "[[\"0 Ah\", \"13 V\"]]", "[[\"0 Ah\", \"13 V\"], [\"0 Ah\", \"12 V\"]]", "\"\"\"a\nb\"\"\"", "'''x'''", "[0.0, 1]",
)  # fmt: skip
NASTY_LINES = (
    "[a]", "[[load]]", "[[capacity_test]]", "[load]", "[claims]", "[claims.claims]", "[instruments]", "[bank]", "[wiring]", "format = 2",
    "format = 1.0", "format = true", "a" + ".a" * 40 + " = 1", "a" + ".a" * 4000 + " = 1", "[" + "a." * 3000 + "a]", "\"\" = 1",
    "\"\\u202e\" = 1", "= 1", "name = ", "\0", "\x1b[2J", "\ufeff", "[[monthly]]", "[[charge]]", "name = 'x'", "duration = \"1e9 h\"",
)  # fmt: skip
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
Mutation = Callable[[random.Random, str], str]


def some_bytes(rng: random.Random, data: bytes) -> bytes:
    """A few bytes changed, cut out, doubled, put in or cut off."""
    found = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5, 30))):
        if not found:
            break
        at, length = rng.randrange(len(found)), rng.choice((1, 1, 4, 64, 4096))
        deed = rng.randrange(5)
        if deed == 0:
            found[at] = rng.randrange(256)
        elif deed == 1:
            del found[at : at + length]
        elif deed == 2:
            found[at:at] = found[at : at + length]
        elif deed == 3:
            found[at:at] = rng.randbytes(length)
        else:
            found[at] ^= 1 << rng.randrange(8)
    return bytes(found[: rng.randrange(len(found) + 1)] if rng.random() < 0.1 else found)


def powers_of_ten(rng: random.Random, text: str) -> str:
    """Some numbers moved by powers of ten, negated or made zero."""

    def moved(match: re.Match[str]) -> str:
        if rng.random() > share:
            return match[0]
        number = float(match[0]) * 10.0 ** rng.choice((-12, -6, -3, -2, -1, 1, 2, 3, 6, 9, 12))
        return rng.choice(
            (f"{number:.9f}".rstrip("0").rstrip("."), f"-{match[0]}", "0", f"{match[0]}e3", f"{match[0]}e-3")
        )

    share = rng.choice((0.01, 0.05, 0.3))
    return NUMBER.sub(moved, text)


def one_number(rng: random.Random, text: str) -> str:
    """One number of the text moved: most of what results is still legal, and reaches what computes with it."""
    places = list(NUMBER.finditer(text))
    if not places:
        return text
    at = rng.choice(places)
    number = float(at[0]) * rng.choice(
        (0.0, 1e-6, 1e-3, 0.01, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 100.0, 1e3, 1e6, -1.0)
    )
    return text[: at.start()] + f"{number:.9g}" + text[at.end() :]


def toml_text(rng: random.Random, text: str) -> str:
    """Lines of a TOML file dropped, doubled, moved, or given a value of another sort."""
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(lines))
        key, equals, _ = lines[at].partition("=")
        deed = rng.randrange(7)
        if deed == 0:
            del lines[at]
        elif deed == 1:
            lines.insert(at, lines[at])
        elif deed == 2:
            lines.insert(at, rng.choice(NASTY_LINES))
        elif deed == 3:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif deed == 4 and equals:
            lines[at] = f"{key}= {rng.choice(NASTY_VALUES)}"
        elif equals:
            lines[at] = f'{key}= "{_nasty(rng)}"'
        if not lines:
            return ""
    return "\n".join(lines)


def quoted_text(rng: random.Random, text: str) -> str:
    """One quoted text of the file replaced."""
    places = list(re.finditer(r'"[^"\n]*"', text))
    if not places:
        return text
    at = rng.choice(places)
    return text[: at.start()] + f'"{_nasty(rng)}"' + text[at.end() :]


def table_text(rng: random.Random, text: str) -> str:
    """Cells, rows and headings of a delimited file changed."""
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 3, 20))):
        at = rng.choice((0, rng.randrange(len(lines)), min(1, len(lines) - 1)))
        cells = lines[at].split(",")
        deed = rng.randrange(8)
        if deed == 0:
            del lines[at]
        elif deed == 1:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif deed == 2:
            lines[at] = rng.choice(
                ("", ",", ",,,,", "#", '"', '"' * 7, "\0", ";", "x" * 70_000, "=1+1,2", "\x1b[2J")
            )
        elif deed == 3:
            lines[at] = lines[at].replace(",", rng.choice((";", "\t", "|", " ", ",,")))
        else:
            cells[rng.randrange(len(cells))] = rng.choice(
                ("", "nan", "inf", "-inf", "1e308", "1e400", "-1e308", "1e-320", "0", "-5", "12,5", "1 000", "x", "=A1", "\u202e1", "９",
                 "2026-01-01 00:00:00", "2026-13-01 00:00:00", "01/02/2026 10:00:00", "29/02/2027 25:61:61", "99:99:99", "1:00:00",
                 "9" * 400, "0x1F", "1_0", "Time (s)", "Current (mA)", "Voltage", "Time (min)", "A" * 70_000)
            )  # fmt: skip
            lines[at] = ",".join(cells)
        if not lines:
            return ""
    return "\n".join(lines)


def of_text(rng: random.Random, data: bytes, change: Mutation) -> bytes:
    """A change of text made to bytes; now and then in another encoding, or with damaged bytes on top."""
    text = change(rng, data.decode("utf-8", "replace"))
    encoding = rng.choices(("utf-8", "utf-16", "utf-8-sig", "cp1252"), (30, 1, 1, 1))[0]
    made = text.encode(encoding, "replace")
    return some_bytes(rng, made) if rng.random() < 0.1 else made


def zip_bytes(rng: random.Random, data: bytes, inner: Callable[[random.Random, bytes], bytes]) -> bytes:
    """A zip whose members are changed, renamed, doubled, linked or inflated, or whose own bytes are."""
    if rng.random() < 0.3:
        return some_bytes(rng, data)
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as source,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made,
    ):
        members = source.infolist()
        for number, info in enumerate(members):
            content, name = source.read(info), info.filename
            if rng.random() < 1.5 / len(members):
                content = inner(rng, content)
            deed = rng.randrange(12 * len(members))
            if deed == 0:
                name = rng.choice(
                    (
                        "../x",
                        "/etc/x",
                        "a/../../x",
                        "logs/..",
                        "x" * 300,
                        "",
                        "con",
                        "C:\\x",
                        "logs\\x.csv",
                        "\u202ex.toml",
                        ".",
                    )
                )
            elif deed == 1:
                content = bytes(rng.choice((10_000_000, 160_000_000)))
            entry = zipfile.ZipInfo("x")
            entry.filename = entry.orig_filename = name
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o120777 << 16 if deed == 2 else 0o100644 << 16
            made.writestr(entry, content)
            if deed == 3:
                made.writestr(zipfile.ZipInfo(f"{number}/{name}"), content)
    return packed.getvalue()


def _nasty(rng: random.Random) -> str:
    return LONG if rng.random() < 0.003 else rng.choice(NASTY_TEXTS)
