"""The steps of a working day in their order."""

from tests.browser.recordings import Writer
from tests.browser.steps import acidity, day, deviation, heat, milk, pack, rooms, rounds
from tests.browser.visitor import Visitor


def working_day(visitor: Visitor, recording: Writer) -> None:
    """From the first page, where the maker has just signed in, to the pack that the owner opens."""
    rounds.sees_the_rounds(visitor)
    rounds.sees_what_the_schedule_flagged(visitor)
    milk.receives_milk(visitor)
    milk.accepts_it(visitor)
    milk.starts_a_make(visitor)
    batch = visitor.page.url
    heat.brings_in_the_recording(visitor, recording)
    acidity.adds_starter(visitor)
    acidity.follows_the_curve(visitor)
    rooms.places_the_batch(visitor)
    rooms.finds_it_too_warm(visitor)
    rooms.finds_the_batch_on_hold(visitor, batch)
    deviation.walks_through(visitor)
    deviation.closes_it(visitor)
    deviation.finds_the_batch_free(visitor, batch)
    visitor.to_room("Today")
    rounds.says_why(visitor)
    rounds.cleans_the_vat(visitor)
    day.signs_off(visitor)
    day.may_not_review_it(visitor)
    visitor.sign_out()
    visitor.sign_in(visitor.scene.owner)
    day.reviews(visitor)
    pack.asks_for_a_pack(visitor)
    pack.opens_it(visitor)
