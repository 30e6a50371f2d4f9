"""Refuses a file that is too large while it arrives, before it is parsed or stored."""

from typing import Any

from django.conf import settings
from django.core.files.uploadhandler import FileUploadHandler, SkipFile

OVERSIZED_KEY = "curdward_oversized_upload"


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
