"""Takes a photograph in, before the record that it belongs to is saved: a refused record does not lose it."""

import hashlib
import io
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from PIL import Image, ImageOps

from haccp.checks import sealing
from haccp.checks.models import PhotoFile
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict, TooLarge
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 80_000_000
LONGEST_SIDE = 2000
FORMATS = ("JPEG", "PNG", "WEBP")


@transaction.atomic
def photo_store(
    *, scope: Scope, photo_id: UUID, data: bytes, field: str = "photo", now: datetime | None = None
) -> PhotoFile:
    """Keeps a picture made smaller, upright, and without what the camera wrote into it (place, device).

    The same photo_id again gives the one already there. Raises ActionError on `field` for what is no picture,
    TooLarge past 25 MB or 80 megapixels.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    sent = hashlib.sha256(data).hexdigest()
    there = PhotoFile.objects.filter(id=photo_id).first()
    if there is not None:
        if there.premises_id != scope.premises.pk or there.sent_sha256 != sent:
            raise Conflict("This photograph was already sent with another picture; take it again.", field=field)
        return there
    if len(data) > MOST_BYTES:
        raise TooLarge("The photograph is larger than 25 MB; choose a smaller size in the camera.", field=field)
    kept, width, height = _made_small(data, field)
    photo = PhotoFile.objects.create(
        id=photo_id,
        premises=scope.premises,
        kept=kept,
        sent_sha256=sent,
        kept_sha256=hashlib.sha256(kept).hexdigest(),
        width=width,
        height=height,
        sent_at=now,
        sent_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="photo.stored",
        subject=f"photo:{photo.id}",
        body=sealing.photo_body(photo),
        actor=scope.actor,
        at=now,
    )
    return photo


def _made_small(data: bytes, field: str) -> tuple[bytes, int, int]:
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise TooLarge("The photograph has more than 80 megapixels; choose a smaller size.", field=field)
            upright = ImageOps.exif_transpose(picture).convert("RGB")
            upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            # A fresh image carries pixels alone: nothing that the camera wrote beside them.
            bare = Image.new("RGB", upright.size)
            bare.paste(upright)
            made = io.BytesIO()
            bare.save(made, "JPEG", quality=82, optimize=True)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise ActionError("That is no photograph that can be read; send a JPEG, PNG or WebP.", field=field) from error
    return made.getvalue(), bare.width, bare.height
