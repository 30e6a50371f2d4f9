"""Reads the body of an API request, within limits."""

from collections.abc import Mapping
from typing import Any

from django.conf import settings
from rest_framework.parsers import JSONParser

from haccp.premises.errors import TooLarge


class BoundedJSONParser(JSONParser):
    """The library's parser reads the stream itself and so never meets Django's limit on a body kept in memory."""

    def parse(
        self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> dict[str, Any]:
        request = (parser_context or {})["request"]
        # The stream ends where the header says, so the header can be relied on.
        if int(request.META.get("CONTENT_LENGTH") or 0) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            limit_mb = settings.DATA_UPLOAD_MAX_MEMORY_SIZE / (1024 * 1024)
            raise TooLarge(f"At most {limit_mb:.0f} MB are taken at once; send less in one request.")
        return super().parse(stream, media_type, parser_context)
