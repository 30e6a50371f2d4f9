"""The critical control points: pasteurisation, thermisation and acidification, each with limits and monitoring."""

from collections.abc import Sequence

from haccp.config.demo.plan import names
from haccp.config.demo.plan.flow import Flow
from haccp.config.demo.plan.hazards import Hazards
from haccp.config.demo.plan.products import Products
from haccp.lots.kinds import EventKind
from haccp.plan.actions import CheckDraft, ControlPointDraft, LimitDraft, MeasureDraft
from haccp.plan.models import Check, ControlPoint, Measure, Product
from haccp.premises.models import Instrument

HOUR = 3600
OWN = "Producer's validation"
EU_HYGIENE = "Regulation (EC) 853/2004"
VERIFIED = "Weekly: Nuala reviews the records. Each half year: the recorder against the calibrated thermometer."


def critical_points(products: Products, flow: Flow, hazards: Hazards, hard_ph: float) -> list[ControlPointDraft]:
    """hard_ph: the limit for the hard cheese, which the second revision lowers."""
    return [
        _pasteurisation(products, flow, hazards),
        _thermisation(products, flow, hazards),
        _acidification(products, flow, hazards, hard_ph),
    ]


def _pasteurisation(products: Products, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    """63 °C for 30 min and the phosphatase at once afterwards: Regulation (EC) 853/2004, Annex III, section IX.

    350 mU/L is the law's for cow's milk alone; 300 mU/L for goat's is what EFSA (2021) proposed.
    """
    only = [products.lactic]
    return ControlPointDraft(
        code="CCP 1",
        name="Pasteurisation in the vat",
        kind=ControlPoint.Kind.CCP,
        step=flow["pasteurise"],
        hazards=[hazards["survival"]],
        corrective_action=(
            "Do not add the starter. Heat the whole vat again to the full time and temperature. If cheese was made "
            "already: hold the batch, and give it to animals or destroy it unless phosphatase and tests prove it safe."
        ),
        disposition=(
            "Milk not heated in full is not set. Cheese made of it stays on hold until it is proven safe, or is "
            "destroyed."
        ),
        verification=VERIFIED,
        limits=[
            LimitDraft(
                key="hold",
                statement="At least 63 °C for 30 min without a break",
                quantity="temperature",
                evaluator="holding",
                comparator="at_least",
                low=63.0,
                parameters={"hold_s": 1800, "target_hold_s": 1920},
                unit="°C",
                source_document=EU_HYGIENE,
                source_clause="Annex III, section IX, chapter II, part II: 63 °C for 30 min, or 72 °C for 15 s",
                products=only,
            ),
            LimitDraft(
                key="phosphatase",
                statement="Phosphatase at most 300 mU/L",
                quantity="phosphatase",
                evaluator="reading",
                comparator="at_most",
                high=300.0,
                target_high=200.0,
                unit="mU/L",
                source_document="EFSA, 2021: level proposed for goat's milk",
                source_clause="the 350 mU/L of Regulation (EC) 2074/2005, Annex VIa, chapter II, are for cow's milk",
                products=only,
            ),
        ],
        checks=[
            CheckDraft(
                name=names.PASTEURISATION,
                how="Take the recorder's file when the vat has cooled; look at the drawing before adding the starter.",
                who="Cheesemaker",
                subject=Check.Subject.BATCH,
                products=only,
                cadence={"kind": "event", "event": EventKind.MAKE_STARTED, "offsets_s": [2 * HOUR]},
                measures=[MeasureDraft("Recorder file", Measure.Kind.RECORDER_FILE, "temperature", limits=["hold"])],
                instrument_kind=Instrument.Kind.RECORDER,
                window_before_s=2 * HOUR,
                grace_s=2 * HOUR,
            ),
            CheckDraft(
                name=names.PHOSPHATASE,
                how="Sample from the cooled vat, read within the hour.",
                who="Cheesemaker",
                subject=Check.Subject.BATCH,
                products=only,
                cadence={"kind": "event", "event": EventKind.MAKE_STARTED, "offsets_s": [3 * HOUR]},
                measures=[
                    MeasureDraft("Phosphatase", Measure.Kind.NUMBER, "phosphatase", "mU/L", limits=["phosphatase"])
                ],
                instrument_kind=Instrument.Kind.TEST_KIT,
                window_before_s=HOUR,
                grace_s=2 * HOUR,
            ),
        ],
    )


def _thermisation(products: Products, flow: Flow, hazards: Hazards) -> ControlPointDraft:
    """No law sets a thermisation for the Union: the limit is our own, from our own trials."""
    only = [products.washed]
    return ControlPointDraft(
        code="CCP 2",
        name="Thermisation in the vat",
        kind=ControlPoint.Kind.CCP,
        step=flow["thermise"],
        hazards=[hazards["thermise_survival"]],
        corrective_action=(
            "Do not add the starter. Heat again in full. If cheese was made already: hold the batch until a "
            "sample of five has been tested, then decide."
        ),
        disposition=(
            "The batch stays on hold; it is released when five samples are satisfactory, else it is destroyed."
        ),
        verification=VERIFIED,
        limits=[
            LimitDraft(
                key="hold",
                statement="At least 64 °C for 60 s without a break",
                quantity="temperature",
                evaluator="holding",
                comparator="at_least",
                low=64.0,
                parameters={"hold_s": 60, "target_hold_s": 75, "max_gap_s": 5},
                unit="°C",
                source_document=OWN,
                source_clause="Trial of twelve vats, report V-02",
                products=only,
            )
        ],
        checks=[
            CheckDraft(
                name=names.THERMISATION,
                how="Take the recorder's file when the vat has cooled; look at the drawing before adding the starter.",
                who="Cheesemaker",
                subject=Check.Subject.BATCH,
                products=only,
                cadence={"kind": "event", "event": EventKind.MAKE_STARTED, "offsets_s": [2 * HOUR]},
                measures=[MeasureDraft("Recorder file", Measure.Kind.RECORDER_FILE, "temperature", limits=["hold"])],
                instrument_kind=Instrument.Kind.RECORDER,
                window_before_s=2 * HOUR,
                grace_s=2 * HOUR,
            )
        ],
    )


def _acidification(products: Products, flow: Flow, hazards: Hazards, hard_ph: float) -> ControlPointDraft:
    """No law sets these either: how fast a cheese must turn sour is each producer's to validate."""
    return ControlPointDraft(
        code="CCP 3",
        name="Acidification",
        kind=ControlPoint.Kind.CCP,
        step=flow["starter"],
        hazards=[hazards["staph"], hazards["raw_stec"]],
        corrective_action=(
            "Hold the batch apart. Have it tested for coagulase-positive staphylococci when their number is highest "
            "(two days), and for the toxin above 100 000 cfu/g. Find out why the starter was slow."
        ),
        disposition=(
            "The batch stays on hold until the staphylococci and, above 100 000 cfu/g, the toxin are tested; or is "
            "destroyed."
        ),
        verification="Weekly: Nuala reviews the curves. The pH meter in two buffers on each making day.",
        limits=[
            _ph_limit("hard", hard_ph, 6, products.hard, "report V-01", hard_ph - 0.10),
            _ph_limit("lactic", 4.70, 20, products.lactic, "report V-03", 4.60),
            _ph_limit("washed", 5.45, 6, products.washed, "report V-02", 5.35),
        ],
        checks=[
            _ph_check(names.PH_HARD, "hard", [2 * HOUR, 4 * HOUR, 6 * HOUR], products.hard),
            _ph_check(names.PH_LACTIC, "lactic", [4 * HOUR, 8 * HOUR, 20 * HOUR], products.lactic),
            _ph_check(names.PH_WASHED, "washed", [2 * HOUR, 4 * HOUR, 6 * HOUR], products.washed),
        ],
    )


def _ph_limit(key: str, high: float, hours: int, product: Product, report: str, target: float) -> LimitDraft:
    return LimitDraft(
        key=key,
        statement=f"{product.name}: pH at most {high:.2f} within {hours} h of the starter",
        quantity="ph",
        evaluator="elapsed",
        comparator="at_most",
        high=high,
        target_high=target,
        parameters={"from_event": EventKind.STARTER_ADDED, "within_s": hours * HOUR},
        unit="pH",
        source_document=OWN,
        source_clause=f"Acidification trials, {report}",
        products=[product],
    )


def _ph_check(name: str, limit: str, offsets_s: Sequence[int], product: Product) -> CheckDraft:
    return CheckDraft(
        name=name,
        how="Curd pressed onto the electrode; wait until it stands still.",
        who="Cheesemaker",
        subject=Check.Subject.BATCH,
        products=[product],
        cadence={"kind": "event", "event": EventKind.STARTER_ADDED, "offsets_s": list(offsets_s)},
        measures=[MeasureDraft("pH", Measure.Kind.NUMBER, "ph", "pH", limits=[limit])],
        instrument_kind=Instrument.Kind.PH_METER,
        window_before_s=1800,
        grace_s=1800,
    )
