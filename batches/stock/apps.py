from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "batches.stock"
    label = "stock"

    def ready(self) -> None:
        from batches.making import panels
        from batches.stock import panel, sealing

        sealing.register()
        panels.register("stock", panel.stock_panel)
