"""What must be said with a load: what to mind, and what to ask before anything is a go."""

from collections.abc import Iterable
from datetime import date

from turfmap.days.knowledge import Knowledge
from turfmap.days.mixes import Mix, Part
from turfmap.days.products import Product
from turfmap.days.quantities import exceeds, is_above
from turfmap.foundations.definitions import table

NO_DAY = (
    "No day was given: the load is counted against the fullest year on record, and the interval"
    " to the last application was not checked. Give --on."
)
ON_RECORD = (
    "Sums count the visits on record: what somebody else put down, or nobody wrote down, is not in"
    " them."
)
LEFT_IN_TANK = (
    "Mix no more than the part tank asks for. What is left in a tank or rinsed out of it goes only"
    " on ground that the label allows."
)


def asks(mix: Mix, product: Product) -> list[str]:
    """Return what has to be answered before the load can be a go."""
    found = []
    if not product.is_confirmed:
        found.append(f"{product.name}: confirm on the label, then note the day in confirmed_on.")
    for part in _parts(mix):
        for one in part.sums:
            if one.load_lb_per_acre is None:
                found.append(
                    f"{one.active}: how much the load gives is not known, so no limit was checked:"
                    f" enter the concentrations of {product.name}."
                )
            elif one.annual is None:
                found.append(f"{one.active}: no annual maximum is entered: read it off the label.")
    return list(dict.fromkeys(found))


def cautions(mix: Mix, product: Product, day: date | None, known: Knowledge) -> list[str]:
    """Return what to mind with a load."""
    found = []
    if product.actives:
        found += [ON_RECORD] if day is not None else [ON_RECORD, NO_DAY]
    if _is_sprayed(product):
        found += [mixing_order(product), LEFT_IN_TANK]
    for part in _parts(mix):
        zone = f"{part.zone['property']} / {part.zone['name']}"
        found += [
            f"{zone}: {said}."
            for said in (*part.cautions, *_low(part, product), *_fed(part, product, day, known))
        ]
    return list(dict.fromkeys(found))


def mixing_order(product: Product) -> str:
    """Return the order in which a tank is filled, and the product's turn in it."""
    rows = [row for row in table("formulation").rows if row["mixing_rank"]]
    order = ", ".join(row["words"] for row in sorted(rows, key=lambda row: row["mixing_rank"]))
    formulation = product.formulation
    turn = ""
    if formulation and formulation["mixing_rank"]:
        turn = f" This one: {formulation['words']}."
    return (
        "Where products share a tank: half the water first, agitate, then in this order, unless the"
        f" label says otherwise: {order}.{turn} Try it in a jar first (common practice; the label"
        " decides)."
    )


def _parts(mix: Mix) -> Iterable[Part]:
    return (part for parts in mix.groups for part in parts)


def _is_sprayed(product: Product) -> bool:
    return product.formulation is not None and product.formulation["applied"] == "sprayed"


def _low(part: Part, product: Product) -> list[str]:
    rate, low = part.rate.rate, part.rate.low
    least = None if low is None else product.product_for(low)
    if low is None or least is None or not least.is_compatible_with(part.per_area):
        return []
    if not exceeds(least, part.per_area):
        return []
    return [f"{rate.words} is below the label's {low.words}"]


def _fed(part: Part, product: Product, day: date | None, known: Knowledge) -> list[str]:
    """Return whether more nitrogen is fed at once than is listed for the grass."""
    mass = product.nutrient_within("nitrogen_pct", part.per_area)
    species = part.zone["species"]
    if not product.row["nitrogen_pct"] or mass is None or not species:
        return []
    fed = 1000.0 * float(mass.to("pound / foot ** 2").magnitude)
    rows = [row for row in known.nitrogen if row["species"] == species]
    if not rows:
        return ["how much nitrogen the grass is given is not listed: a soil test comes first"]
    this_month = [row for row in rows if day is not None and row["month"] == day.month]
    found = []
    if day is not None and not this_month:
        found.append(f"no feeding of it is listed for {day:%B}")
    most = max(row["high_lb_per_1000_sq_ft"] for row in this_month or rows)
    if is_above(fed, most):
        found.append(f"{fed:.3g} lb of nitrogen per 1,000 sq ft at once; {most:g} is listed")
    return found
