"""A heat treatment in the night on which the clock was put back: the recorder's file shows an hour twice."""

from datetime import timedelta

import pytest
from playwright.sync_api import Browser, expect

from tests.browser import recordings
from tests.browser.autumn import last_change_back
from tests.browser.site import open_scene
from tests.browser.steps import heat
from tests.browser.visitor import visit
from tests.processes.stack import Stack

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser habits")]
PHONE = (390, 844)


def test_a_recording_through_the_hour_that_happens_twice_is_one_of_45_minutes(site: Stack, browser: Browser) -> None:
    scene = open_scene(site.run, name="Autumn Farm", kind="autumn")
    # At 02:40 summer time, twenty minutes before the change; it ends at 02:25 winter time.
    start = (last_change_back() - timedelta(minutes=20)).astimezone(scene.zone)
    evening_before = (start - timedelta(hours=4)).replace(minute=0)
    with visit(browser, site.url, scene, PHONE) as visitor:
        visitor.sign_in(scene.maker)
        visitor.to_room("Milk")
        visitor.follow("Milk came in")
        visitor.choose("Milk of", "ewe")
        visitor.fill("Whose milk", "Own flock")
        visitor.fill("How much", "150")
        visitor.fill("Received", f"{evening_before:%Y-%m-%dT%H:%M}")
        visitor.press("Save the milk")
        visitor.sees("Acceptance checks", "Not decided yet")
        # Nobody read the test strip in time: milk is accepted without it only with a reason.
        visitor.press("Accept")
        visitor.sees("Milk acceptance", "What you typed is still here")
        visitor.main.get_by_label("Reason").fill("The strip on paper shows negative")
        visitor.press("Accept")
        visitor.sees("Accepted by")
        visitor.to_room("Makes")
        visitor.follow("Start a make")

        # The clock showed 02:30 twice: the page asks which, and takes the answer.
        visitor.main.locator(".milk-line input").fill("150")
        visitor.fill("Started", f"{start:%Y-%m-%d}T02:30")
        visitor.press("Start the make")
        visitor.sees("The clock showed 02:30 twice")
        visitor.main.get_by_label("Which of the two times").select_option(label="the first time")
        visitor.press("Start the make")
        visitor.at("Reed Tomme")

        # Nobody brought the file in time, so the schedule flags the check; it is entered late.
        visitor.reloads_until("missed – nobody has said why.")
        visitor.part("Checks").get_by_role("link", name="Say why").click()
        visitor.follow("Enter it late")
        visitor.follow("Add the recorder’s file")
        heat.send(visitor, "night.csv", recordings.plain(start, scene.zone))
        visitor.sees("2700 samples", "met", "the hour that happens twice was told apart by the order of the lines")
        heat.is_drawn(heat.picture(visitor))
        ended = visitor.main.get_by_label("When it ended", exact=True)
        expect(ended).to_have_value(f"{start:%Y-%m-%d}T02:24")
        visitor.choose("Instrument", "Recorder")
        visitor.press("Save this heat treatment")
        visitor.sees("Saved.", "met", "Late entry:")
