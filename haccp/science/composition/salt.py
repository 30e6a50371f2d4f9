"""Salt, moisture and fat against each other. All shares in g per 100 g."""

from haccp.science.errors import InputError

NACL_G_PER_MOL = 58.443  # IUPAC atomic weights, from memory


def salt_in_moisture(salt_percent: float, moisture_percent: float) -> float:
    """S/M: g salt per 100 g moisture of the cheese."""
    _check(salt_percent, moisture_percent)
    return salt_percent / moisture_percent * 100


def salt_in_water_phase(salt_percent: float, moisture_percent: float) -> float:
    """Water phase salt: g salt per 100 g of brine in the cheese, salt / (salt + moisture)."""
    _check(salt_percent, moisture_percent)
    return salt_percent / (salt_percent + moisture_percent) * 100


def salt_molality(salt_percent: float, moisture_percent: float) -> float:
    """mol NaCl per kg of moisture."""
    return salt_in_moisture(salt_percent, moisture_percent) * 10 / NACL_G_PER_MOL


def moisture_in_fat_free_cheese(moisture_percent: float, fat_percent: float) -> float:
    """MFFB (MNFS): moisture / (100 − fat) × 100. Codex CXS 283 groups cheese by it, from memory."""
    _check_share(moisture_percent, "moisture")
    _check_share(fat_percent, "fat")
    if moisture_percent + fat_percent > 100 or fat_percent >= 100:
        raise InputError("Moisture and fat are more than the cheese.", remedy="Type both in g per 100 g of cheese.")
    return moisture_percent / (100 - fat_percent) * 100


def fat_in_dry_matter(fat_percent: float, moisture_percent: float) -> float:
    """FDM: fat / (100 − moisture) × 100."""
    _check_share(moisture_percent, "moisture")
    _check_share(fat_percent, "fat")
    if moisture_percent + fat_percent > 100 or moisture_percent >= 100:
        raise InputError("Moisture and fat are more than the cheese.", remedy="Type both in g per 100 g of cheese.")
    return fat_percent / (100 - moisture_percent) * 100


def _check(salt_percent: float, moisture_percent: float) -> None:
    _check_share(salt_percent, "salt")
    _check_share(moisture_percent, "moisture")
    if moisture_percent == 0:
        raise InputError("Cheese without moisture has no brine.", remedy="Type the moisture of the cheese.")
    if salt_percent + moisture_percent > 100:
        raise InputError("Salt and moisture are more than the cheese.", remedy="Type both in g per 100 g of cheese.")


def _check_share(percent: float, name: str) -> None:
    if not 0 <= percent <= 100:
        raise InputError(f"The {name} lies from 0 to 100 %.", remedy="Type it in g per 100 g of cheese.")
