"""Refuses a file that is too large while it arrives, before it is parsed or stored."""

from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest

from haccp.premises.errors import ActionError, TooLarge

OVERSIZED_KEY = "curdward_oversized_upload"
_MEGABYTE = 1024 * 1024


class RefuseOversized(FileUploadHandler):
    """Skips the rest of a file past the limit and notes it on the request, so that the form can say so and keep
    everything else that was typed."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self.seen_bytes = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.seen_bytes += len(raw_data)
        if self.seen_bytes > settings.RECORDER_FILE_MAX_BYTES:
            if self.request is not None:
                self.request.META[OVERSIZED_KEY] = self.file_name
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None


def read_upload(
    request: HttpRequest,
    upload: Any,
    *,
    missing: str = "Choose the file that the recorder exported.",
    remedy: str = "Export a shorter time from the recorder, one make to a file.",
) -> tuple[bytes, str]:
    """The whole file and its name. On field "file", raises ActionError when there is none, TooLarge past the limit.

    missing, remedy: what to do then, where the file is no recorder's.
    """
    oversized = request.META.get(OVERSIZED_KEY)
    if oversized:
        raise TooLarge(f"{oversized} is larger than {_limit_in_words()}. {remedy}", field="file")
    if not isinstance(upload, UploadedFile):
        raise ActionError(missing, field="file")
    return upload.read(), upload.name or "file"


def _limit_in_words() -> str:
    limit = settings.RECORDER_FILE_MAX_BYTES
    return f"{limit // _MEGABYTE} MB" if limit >= _MEGABYTE else f"{limit // 1024} kB"
