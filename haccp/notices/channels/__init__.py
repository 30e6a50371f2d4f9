"""How something reaches a person: e-mail and web push."""


class NotDelivered(Exception):
    """It could not be delivered now; str() says why. gone: the address is no more, so that trying again is vain."""

    def __init__(self, why: str, *, gone: bool = False) -> None:
        super().__init__(why)
        self.gone = gone
