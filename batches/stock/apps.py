from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "batches.stock"
    label = "stock"

    def ready(self) -> None:
        from batches.making import panels
        from batches.stock import day_section, panel, presence, sealing
        from haccp.checks import daybook
        from haccp.lots import presence as parts

        sealing.register()
        parts.register(presence.lots_with_pieces_in)
        panels.register("stock", panel.stock_panel)
        daybook.register_section(day_section.day_section)
