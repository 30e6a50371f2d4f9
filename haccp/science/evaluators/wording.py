"""Small rules of English that every sentence of a verdict shares."""


def capital(text: str) -> str:
    """The text with its first letter raised, save where the case means something, as in pH."""
    return text if len(text) > 1 and text[1].isupper() else text[:1].upper() + text[1:]
