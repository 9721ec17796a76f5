"""A recorded current as a load: what is read of it, what is asked about it, and what is refused."""

import pytest

from planner.outing.build import build_timeline
from planner.outing.exceedance import longest_run_s, mean_a, trace_at
from tests.outing.texts import LOG_LOAD, TOP


@pytest.mark.parametrize(("between", "mean"), [("hold", 11.50), ("line", 17.19)])
def test_a_recorded_load_is_read_as_its_file_says(read, between, mean):
    text = TOP.replace("6 h", "10 min") + LOG_LOAD + f'between_samples = "{between}"\n'
    need = read(text)
    assert (need.loads[0].evidence, need.loads[0].spread) == ("logged", 0.05)
    assert [path.name for path in need.files] == ["log.csv"]
    # Hand calculation: held 6900 A s, trapezoid 10315 A s, over 600 s.
    assert mean_a(trace_at(build_timeline(need), 12.8)) == pytest.approx(mean, abs=0.005)


def test_a_log_that_does_not_say_what_lies_between_is_refused_with_both_answers(refused):
    problem = refused(TOP.replace("6 h", "10 min") + LOG_LOAD)["load.1.between_samples"]
    # Hand calculation: 6900 A s = 1.92 Ah held, 10315 A s = 2.87 Ah by lines, samples' mean 214/8 A.
    for part in ("1.92 Ah", "11.50 A", "2.87 Ah", "17.19 A", "26.75 A"):
        assert part in problem.fix


def test_a_log_shorter_than_the_outing_is_silent_after_it(read):
    need = read(TOP + LOG_LOAD + 'between_samples = "hold"\nuse = [{ start = "1 h" }]\n')
    trace = trace_at(build_timeline(need), 12.8)
    assert (trace.edges_s[1], trace.start_a[0], trace.start_a[-1]) == (3600.0, 0.0, 0.0)
    assert any("nothing is drawn after" in warning for warning in need.warnings)


def test_a_log_longer_than_the_outing_is_cut_and_says_so(read):
    need = read(TOP.replace("6 h", "30 s") + LOG_LOAD + 'between_samples = "hold"\n')
    trace = trace_at(build_timeline(need), 12.8)
    assert trace.edges_s[-1] == 30.0
    assert longest_run_s(trace, 60.0)[0] == 20.0
    assert any("cut off" in warning for warning in need.warnings)


def test_charging_in_a_log_is_left_out_and_both_totals_are_told(read):
    log = "Time (s),Current (A)\n" + "".join(f"{t},{10 if t < 1800 else -4}\n" for t in range(0, 3601, 60))
    need = read(TOP + LOG_LOAD + 'between_samples = "hold"\n', log)
    assert min(need.loads[0].log.current_a) == 0.0
    # Hand calculation: half an hour at 10 A, half an hour at -4 A.
    assert any("5.00 Ah drawn, 2.00 Ah put back" in warning for warning in need.warnings)


def test_tops_that_stand_still_among_readings_that_move_are_warned_of_as_the_end_of_a_range(read):
    def told(amps):
        rows = "".join(f"{t},{amps(t)}\n" for t in range(1200))
        return " ".join(read(TOP + LOG_LOAD + 'between_samples = "hold"\n', f"Time (s),Current (A)\n{rows}").warnings)

    def clipped(t):
        return 100 if 200 <= t < 230 else 20 + t % 7

    assert "the highest reading, 100 A, stands unchanged for 30 samples" in told(clipped)
    assert "stands unchanged" not in told(lambda t: clipped(t) + (t % 3) / 10)  # a pull that moves as all else does
    assert "stands unchanged" not in told(lambda t: 100 if 200 <= t < 230 else 20)  # loads that are steady throughout


def test_a_log_keeps_the_loggers_own_interval(read):
    log = "Time (s),Current (A)\n" + "".join(f"{t},{5 if t else 6}\n" for t in range(0, 1200, 60))
    found = read(TOP + LOG_LOAD + 'between_samples = "hold"\n', log).loads[0].log
    assert len(found.time_s) < 20 and found.usual_s == found.hides_s == 60.0  # like readings are left out
    fine = "Time (s),Current (A)\n" + "".join(f"{t},5\n" for t in range(1200))
    assert read(TOP + LOG_LOAD + 'between_samples = "hold"\n', fine).loads[0].log.hides_s == 0.0


def test_a_coarse_log_and_its_pauses_are_warned_of(read):
    log = "Time (s),Current (A)\n0,5\n10,6\n20,7\n30,5\n40,5\n600,9\n610,5\n"
    warnings = read(TOP + LOG_LOAD + 'between_samples = "hold"\n', log).warnings
    assert any("10 s" in warning and "hidden" in warning for warning in warnings)
    assert any("560 s" in warning for warning in warnings)


@pytest.mark.parametrize(
    "log",
    [
        "Time (s),Current (A)\n0,5\n10,6\n5,7\n",  # time running back
        "Time (s),Current (A)\n0,-5\n10,-6\n20,-7\n",  # sign swapped
        "Time (s),Voltage (V)\n0,13.1\n10,13.0\n",  # no current
        "Time (s),Current (A)\n0,5\n",  # one sample
        "not a log at all",
        "",
    ],
)
def test_a_log_that_cannot_be_used_is_refused(refused, log):
    problems = refused(TOP + LOG_LOAD + 'between_samples = "hold"\n', log)
    assert "load.1.log" in problems
