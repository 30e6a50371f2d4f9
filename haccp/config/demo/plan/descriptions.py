"""What the plan says of the three cheeses."""

from haccp.config.demo.plan.products import Products
from haccp.plan.document.parts import ProductDescription


def descriptions(products: Products) -> list[ProductDescription]:
    return [
        ProductDescription(
            product=products.hard.code,
            composition="Raw ewe's milk, starter, lamb's rennet, salt.",
            ph_low=5.0,
            ph_high=5.5,
            water_activity_high=0.95,
            salt_percent=1.7,
            moisture_percent=36.0,
            ageing_days=120,
            ageing_temperature_c=8.0,
            intended_use="Eaten as it is, whole or cut.",
        ),
        ProductDescription(
            product=products.lactic.code,
            composition="Pasteurised goat's milk, starter, rennet, salt, white mould.",
            ph_low=4.4,
            ph_high=5.2,
            water_activity_high=0.98,
            salt_percent=1.4,
            moisture_percent=56.0,
            ageing_days=8,
            ageing_temperature_c=8.0,
            intended_use="Eaten as it is.",
        ),
        ProductDescription(
            product=products.washed.code,
            composition="Thermised cow's milk, starter, rennet, salt, smear cultures.",
            ph_low=5.0,
            ph_high=6.4,
            water_activity_high=0.97,
            salt_percent=1.6,
            moisture_percent=46.0,
            ageing_days=42,
            ageing_temperature_c=9.0,
            intended_use="Eaten as it is.",
        ),
    ]
