"""The unit that a person reads each quantity in, by its symbol in the registry of quantities."""

from haccp.premises.models import User

_VOLUME = {User.VolumeUnit.LITRE: "L", User.VolumeUnit.GALLON: "gal (US)"}


def preferred_units(user: User) -> dict[str, str]:
    """Quantity -> symbol, for the quantities that people choose a unit for."""
    return {
        "temperature": user.temperature_unit,
        "volume": _VOLUME[User.VolumeUnit(user.volume_unit)],
        "mass": user.mass_unit,
    }
