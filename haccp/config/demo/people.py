"""The three people of the demo dairy, what each may do, and who does what."""

from dataclasses import dataclass
from datetime import datetime

from haccp.premises import actions as premises
from haccp.premises.models import Membership, Premises
from haccp.premises.scope import Scope

DAIRY = "Three Alders Dairy"
TIME_ZONE = "Europe/Dublin"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the demo as printed on the command line. may: what the role allows, in words."""

    name: str
    email: str
    password: str
    role: str
    may: str


OWNER = Person(
    "Nuala Breen",
    "nuala@threealders.example",
    "alder catkins in march",
    Membership.Role.OWNER,
    "approves the plan, reviews the days, closes deviations, manages people and instruments",
)
MAKER = Person(
    "Tomás Gale",
    "tomas@threealders.example",
    "curd like wet pebbles",
    Membership.Role.MAKER,
    "makes the cheese, records, signs the days off, closes deviations",
)
HELPER = Person(
    "Ivy Marsh",
    "ivy@threealders.example",
    "boots beside the door",
    Membership.Role.HELPER,
    "records checks and signs days off, but neither reviews nor closes",
)
PEOPLE = (OWNER, MAKER, HELPER)


@dataclass(frozen=True, slots=True)
class Staff:
    """The people as the actions know them."""

    owner: Scope
    maker: Scope
    helper: Scope

    @property
    def premises(self) -> Premises:
        return self.owner.premises


def open_with_people(at: datetime) -> Staff:
    """Opens the dairy and adds its people."""
    owner = premises.premises_open(
        producer_name="Breen & Gale Cheesemakers",
        name=DAIRY,
        address="Three Alders, Lower Rushfield\n(an invented place)",
        approval_number="IE 0000 EC",
        time_zone=TIME_ZONE,
        jurisdiction=Premises.Jurisdiction.EU,
        owner_name=OWNER.name,
        owner_email=OWNER.email,
        owner_password=OWNER.password,
        at=at,
    )
    return Staff(owner, _add(owner, MAKER, at), _add(owner, HELPER, at))


def _add(owner: Scope, person: Person, at: datetime) -> Scope:
    return Scope(
        premises.person_add(
            scope=owner, name=person.name, email=person.email, password=person.password, role=person.role, at=at
        )
    )
