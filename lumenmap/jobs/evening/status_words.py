"""A status in words, for people."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from lumenmap.almanac.times import wall_clocks
from lumenmap.almanac.tonight import played
from lumenmap.core.plain import plain
from lumenmap.core.wording import some
from lumenmap.jobs.evening.status import Frames, Status, Stretch

#: From this share on people see that frames are dropped (common practice, no source).
_OFTEN = 0.01


def words(status: Status, now: datetime, *, held: bool = False) -> list[str]:
    """Return what an evening is doing, a line for each thing.

    ``held``: it runs, though it isn't heard of. Of one that is gone nothing comes, and no current
    flows.
    """
    zone, gone = _zone(status.zone), not held and not status.alive(now)
    lines = [_state(status, now, zone, held)]
    if gone and status.state != "stopped":
        lines.append(f"to start it: lumenmap run {plain(status.almanac)} --to ADDRESS")
    if status.next is not None and not gone:
        _, end = wall_clocks(status.next.start, status.next.stop, zone)
        when = f"{_when(status.next.start, now, zone)} to {end}"
        lines.append(f"next: {when}, {_piece(status.next)}")
    if status.state == "playing" and status.amps and not gone:
        each = (f"{a.name} {a.now:.2f} A now, {a.most:.2f} A at most" for a in status.amps)
        lines.append(f"current: {'; '.join(each)}")
    if status.frames.sent:
        lines.append(f"since {_when(status.started, now, zone)}: {_frames(status.frames)}")
    for c in status.network:
        since = f" since {_when(c.since, now, zone)}" if c.since else ""
        at = f" (at {c.at})" if c.at and not c.address.startswith((c.at, f"[{c.at}")) else ""
        text = {
            "there": f"there{since}: {c.why}",
            "refuses": f"refuses packets{since}: {c.why}",
            "no sign": f"no sign{since}: {c.why}",
            "not known": "sent to; it gives no answer, so whether it is there isn't known",
        }[c.state]
        name = f', "{c.name}"' if c.name else ""
        lines.append(f"controller {c.address}{at}{name}: {text}")
    lines += [f"flashing, as its file allows: {one}" for one in status.flashing[:1]]
    return [*lines, *(f"problem: {problem}" for problem in status.problems)]


def _state(status: Status, now: datetime, zone: ZoneInfo, held: bool) -> str:
    doing = {
        "waiting": "nothing plays now",
        "playing": "playing",
        "nothing to play": "dark: there is no good show to play",
        "lent": f"waiting while {status.wire or 'another command'} sends",
        "stopped": "stopped",
    }[status.state]
    if status.state == "playing" and status.playing is not None:
        until = status.playing.stop.astimezone(zone)
        doing = f"playing {_piece(status.playing)}, until {until:%H:%M}"
    if status.state == "stopped" and not held:
        return f"stopped {_at(status.time, now, zone)}"
    if not status.alive(now):
        running = "running" if held else "not running"
        return f"{running}: last heard from {_at(status.time, now, zone)}, then {doing}"
    return doing


def _frames(frames: Frames) -> str:
    lost = sum(frames.lost.values())
    reasons = ", ".join(f"{why}: {n:,}" for why, n in sorted(frames.lost.items()))
    sent, missed = some(frames.sent, "frame"), some(lost, "packet")
    often = frames.dropped > _OFTEN * frames.sent
    late = " (this computer was too busy when they were due, or asleep)" if often else ""
    return f"{sent} sent, {frames.dropped:,} dropped{late}; {missed} lost" + (
        f" ({reasons})" if reasons else ""
    )


def _piece(stretch: Stretch) -> str:
    return played(stretch.title or stretch.show, stretch.brightness, stretch.rule)


def _when(moment: datetime, now: datetime, zone: ZoneInfo) -> str:
    local, today = moment.astimezone(zone), now.astimezone(zone).date()
    return f"{local:%H:%M}" if local.date() == today else f"{local:%A} {local.day} {local:%B %H:%M}"


def _at(moment: datetime, now: datetime, zone: ZoneInfo) -> str:
    local, today = moment.astimezone(zone), now.astimezone(zone).date()
    day = "" if local.date() == today else f" on {local:%A} {local.day} {local:%B}"
    return f"at {local:%H:%M}{day}"


def _zone(key: str) -> ZoneInfo:
    try:
        return ZoneInfo(key)
    except (OSError, ValueError, LookupError):
        return ZoneInfo("UTC")
