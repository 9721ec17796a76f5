"""One visitor of the app as the app sees it: the page's own messages over its web socket, without a browser."""

from __future__ import annotations

import random
import time
from dataclasses import dataclass, field
from typing import Any

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import ClientConnection, connect

ANSWER_S = 120.0  # longer than this is an error
LARGEST_MESSAGE = 64 * 2**20
CHOICES = ("battery_chosen", "outing_chosen", "climate_chosen")
NAMED = CHOICES[:2]  # the verdict on top names these


@dataclass(slots=True)
class Visitor:
    """times_s : how long each look at the page took. errors : what went wrong, in words.

    outing : key and name of the visitor's own outing, which its address names; without one it chooses among all.
    """

    port: int
    rng: random.Random
    outing: tuple[str, str] | None = None
    times_s: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    boxes: dict[str, Any] = field(default_factory=dict)
    chosen: dict[str, str] = field(default_factory=dict)
    told: str = ""

    def visit(self, until: float, pause_s: tuple[float, float], least: int = 1) -> None:
        """Look at the first page, then choose something else until that moment of the clock, and so often at least."""
        address = f"ws://localhost:{self.port}/_stcore/stream"
        try:
            with connect(address, max_size=LARGEST_MESSAGE, origin=f"http://localhost:{self.port}") as socket:  # type: ignore[arg-type]
                self._look(socket)
                while True:
                    pause = self.rng.uniform(*pause_s)
                    # who would come back after the end goes: waking all at the end is no visitors' habit
                    if len(self.times_s) >= least and time.monotonic() + pause > until:
                        return
                    time.sleep(pause)
                    self._choose()
                    self._look(socket)
        except Exception as error:  # noqa: BLE001  whatever ends a visit is what is counted
            self.errors.append(f"{type(error).__name__}: {str(error)[:200]}")

    def _choose(self) -> None:
        """Another battery, outing or climate; never a file of one's own, which would need an upload."""
        keys = [
            key for key in CHOICES if key in self.boxes and (self.outing is None or key != "outing_chosen")
        ]
        box = self.boxes[self.rng.choice(keys)]
        options = [option for option in box.options if not option.startswith("My own file")]
        self.chosen[box.id] = self.rng.choice(options)

    def _look(self, socket: ClientConnection) -> None:
        """One run of the page, timed from the asking to its end."""
        asked = BackMsg()
        asked.rerun_script.query_string = "" if self.outing is None else f"outing={self.outing[0]}"
        for identity, value in self.chosen.items():
            state = asked.rerun_script.widget_states.widgets.add()
            state.id, state.string_value = identity, value
        self.told = ""
        began = time.monotonic()
        socket.send(asked.SerializeToString())
        while True:
            left = ANSWER_S - (time.monotonic() - began)
            data = socket.recv(timeout=max(0.01, left))
            assert isinstance(data, bytes)
            told = ForwardMsg()
            told.ParseFromString(data)
            kind = told.WhichOneof("type")
            if kind == "delta":
                self._note(told.delta)
            elif kind == "script_finished":
                if told.script_finished != ForwardMsg.FINISHED_SUCCESSFULLY:
                    self.errors.append(f"a run ended with status {told.script_finished}")
                break
        self.times_s.append(time.monotonic() - began)
        self._compare()

    def _compare(self) -> None:
        """The verdict must be of what this visitor chose: another's would name another battery or outing."""
        if self.outing is not None and self.outing[1] not in self.told:
            self.errors.append(f"looks at {self.outing[1]!r}, was told {self.told[:120]!r}")
        for key in NAMED:
            box = self.boxes.get(key)
            wanted = self.chosen.get(box.id) if box is not None else None
            if wanted is not None and wanted not in self.told:
                self.errors.append(f"chose {wanted!r}, was told {self.told[:120]!r}")

    def _note(self, delta: Any) -> None:
        """Keep the choices that are on the page; a traceback on it is an error."""
        if delta.WhichOneof("type") != "new_element":
            return
        element = delta.new_element
        kind = element.WhichOneof("type")
        if kind == "exception":
            self.errors.append(f"{element.exception.type}: {element.exception.message[:200]}")
        elif kind == "markdown" and not self.told:  # the verdict is the first text of every page
            self.told = element.markdown.body.replace("\\", "").replace("\u2060", "")
        elif kind == "selectbox":
            for key in CHOICES:
                if element.selectbox.id.endswith(key):
                    self.boxes[key] = element.selectbox
