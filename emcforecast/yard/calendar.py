"""The yard's next steps as a calendar file that a re-import brings up to date.

RFC 5545 text written here: it is a page of rules, and a library would be one more
thing to install. Each step of each stack keeps its own UID for good; a newer file
carries a higher SEQUENCE, so a calendar replaces what it has. A step that is no longer
due is sent once more as cancelled.
"""

import re
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from emcforecast import __version__

_UID_ROOT = uuid.UUID("6a1f8c1e-0d5b-5c39-9a77-5d0f3c0d2b11")
_UID_HOST = "emcforecast"
_SEQUENCE_FROM = datetime(2025, 1, 1, tzinfo=UTC)
_LINE_OCTETS = 75
MADE_BY = "PRODID:-//emcforecast//yard"
"""How a calendar of ours begins; others are not ours to replace."""


@dataclass(frozen=True)
class Entry:
    """One step in the calendar.

    Parameters
    ----------
    stack : str
        The stack it is for.
    action : str
        Which step, a short word that stays the same: "move", "bring-in".
    day : date
        The day to do it, all day.
    summary : str
        One line.
    description : str
        Why, and how sure.
    remind_days : int
        Days ahead for a reminder; 0 for none.
    """

    stack: str
    action: str
    day: date
    summary: str
    description: str = ""
    remind_days: int = 0


def calendar_text(
    entries: Iterable[Entry], yard_name: str, now: datetime, earlier: str = ""
) -> str:
    """Return the calendar file.

    Parameters
    ----------
    entries : iterable of Entry
        At most one for each stack and action.
    yard_name : str
        Told in the calendar's name and part of every UID.
    now : datetime
        When it is made, with its time zone.
    earlier : str
        The file this one replaces, if there is one: its steps that are neither past
        nor wanted any more are cancelled.

    Returns
    -------
    str
        Lines end in CRLF and are at most 75 octets long.

    References
    ----------
    RFC 5545, sections 3.1 (lines), 3.3.11 (text), 3.6.1 (events), 3.8.4.7 (UID) and
    3.8.7.4 (SEQUENCE); RFC 7986, section 5.1 (NAME).

    Examples
    --------
    >>> made = datetime(2026, 11, 25, tzinfo=UTC)
    >>> entry = Entry("oak-1", "move", date(2026, 12, 1), "oak-1: move to the loft")
    >>> "DTSTART;VALUE=DATE:20261201" in calendar_text([entry], "Kalvenau", made)
    True
    """
    stamp = now.astimezone(UTC)
    sequence = max(0, int((stamp - _SEQUENCE_FROM).total_seconds()))
    title = _escaped(f"{yard_name}: wood yard")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"{MADE_BY} {__version__}//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{title}",
        f"X-WR-CALNAME:{title}",
    ]
    present = set()
    for entry in sorted(entries, key=lambda e: (e.day, e.stack, e.action)):
        uid = uid_of(yard_name, entry.stack, entry.action)
        present.add(uid)
        lines += _event(uid, entry, stamp, sequence)
    # A file of another yard is not ours to cancel.
    same = f"X-WR-CALNAME:{title}" in _unfolded(earlier)
    for uid, start, summary in _events(earlier) if same else ():
        if uid not in present and start >= stamp.date():
            lines += _cancelled(uid, start, summary, stamp, sequence)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in [_folded(line)])


def uid_of(yard_name: str, stack: str, action: str) -> str:
    """Return the lasting name of a step of a stack."""
    text = "\n".join((yard_name.casefold(), stack.casefold(), action))
    return f"{uuid.uuid5(_UID_ROOT, text)}@{_UID_HOST}"


def _event(uid: str, entry: Entry, stamp: datetime, sequence: int) -> list[str]:
    lines = [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
        f"LAST-MODIFIED:{stamp:%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{sequence}",
        f"DTSTART;VALUE=DATE:{entry.day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{entry.day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_escaped(entry.summary)}",
        "TRANSP:TRANSPARENT",
        "STATUS:CONFIRMED",
        "CATEGORIES:WOOD YARD",
    ]
    if entry.description:
        lines.append(f"DESCRIPTION:{_escaped(entry.description)}")
    if entry.remind_days > 0:
        lines += [
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"TRIGGER:-P{entry.remind_days}D",
            f"DESCRIPTION:{_escaped(entry.summary)}",
            "END:VALARM",
        ]
    return [*lines, "END:VEVENT"]


def _cancelled(
    uid: str, start: date, summary: str, stamp: datetime, sequence: int
) -> list[str]:
    return [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{sequence}",
        f"DTSTART;VALUE=DATE:{start:%Y%m%d}",
        f"SUMMARY:{summary}",
        "STATUS:CANCELLED",
        "END:VEVENT",
    ]


def _events(text: str) -> list[tuple[str, date, str]]:
    """Return (uid, day, summary as written) of this program's steps in a file."""
    found = []
    lines = _unfolded(text)
    event: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            event = {}
        elif line == "END:VEVENT":
            step = _own_step(event)
            found += [step] if step else []
        else:
            event.setdefault(name, value)
    return found


def _unfolded(text: str) -> list[str]:
    return re.split(r"\r?\n", re.sub(r"\r?\n[ \t]", "", text))


def _own_step(event: Mapping[str, str]) -> tuple[str, date, str] | None:
    uid = event.get("UID", "")
    if not uid.endswith(f"@{_UID_HOST}"):
        return None
    try:
        start = datetime.strptime(event.get("DTSTART;VALUE=DATE", ""), "%Y%m%d")
    except ValueError:
        return None
    return uid, start.date(), event.get("SUMMARY", "")


def _escaped(text: str) -> str:
    """Return text as a property value (RFC 5545, 3.3.11)."""
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    text = re.sub(r"\r\n?|\n", "\\\\n", text)
    return re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", text)


def _folded(line: str) -> str:
    """Return a line broken so that no part is over 75 octets (RFC 5545, 3.1)."""
    parts, size = [""], 0
    for sign in line:
        octets = len(sign.encode())
        if size + octets > _LINE_OCTETS:
            parts.append(" ")
            size = 1
        parts[-1] += sign
        size += octets
    return "\r\n".join(parts)
