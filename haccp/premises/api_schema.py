"""How the two ways of speaking to the API are described in the OpenAPI document."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension

from haccp.premises.api_access import DeviceTokenAuthentication, SignedInAuthentication


class DeviceTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = DeviceTokenAuthentication
    name = "deviceToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": "Token <device token>"}


class SignedInScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = SignedInAuthentication
    name = "signedIn"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}
