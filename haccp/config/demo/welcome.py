"""What the command prints: the address, the logins, and what to try."""

from haccp.config.demo.people import DAIRY, PEOPLE
from haccp.config.demo.prepare import Prepared
from haccp.premises.models import Membership

TO_TRY = (
    "Sign in as Ivy: what is late, what is due now, what comes later; do one of the checks.",
    "Enter an impossible temperature, then one outside its limit, and see what each answers.",
    "Open the deviation that stands open: a batch of Alder Square is on hold until somebody decides.",
    "Start a make; let a check pass unanswered and wait: the schedule flags it within a minute of its grace.",
    "Sign in as Nuala: review the days that Tomás has signed off, read the plan and what changed in revision 2.",
    "Ask for a visit pack of the last 30 days.",
)
CAUTION = (
    "This program supports and does not replace the local regulator, local codes and the licensed process authority."
)


def loading(days: int) -> str:
    return f"Loading {DAIRY}: {days} days of work, through the same actions that people use. This takes a moment …"


def arrived(prepared: Prepared) -> str:
    """What was found or made, in a sentence or two."""
    if prepared.is_new:
        return f"{DAIRY} is loaded, with its history up to now."
    words = [f"{DAIRY} is there from last time; nothing was loaded anew (--fresh does that)."]
    if prepared.migrated:
        words.append("Its database was brought up to date.")
    if prepared.missed == 1:
        words.append("1 check was missed while the demo was not running.")
    else:
        words.append(f"{prepared.missed} checks were missed while the demo was not running.")
    return " ".join(words)


def invitation(address: str) -> str:
    """Printed when the site answers."""
    width = max(len(person.email) for person in PEOPLE)
    logins = [
        f"  {person.email:<{width}}  {person.password}\n"
        f"  {'':<{width}}  {person.name}, {Membership.Role(person.role).label}: {person.may}"
        for person in PEOPLE
    ]
    return "\n".join(
        [
            "",
            f"Open {address}",
            "",
            "Sign in with an e-mail and its password:",
            *logins,
            "",
            "What to try:",
            *(f"  - {one}" for one in TO_TRY),
            "",
            CAUTION,
            "Stop with Ctrl+C; the next start goes on with what is there.",
        ]
    )
