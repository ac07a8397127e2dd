"""What keeps the page to this machine and to its own forms."""

from .body_limit import BodyLimit
from .headers import SecurityHeaders
from .loopback import LOCAL_NAMES, LocalHost, check_loopback
from .token import COOKIE, FIELD, OwnForms, check_token, token_of

__all__ = [
    "COOKIE",
    "FIELD",
    "LOCAL_NAMES",
    "BodyLimit",
    "LocalHost",
    "OwnForms",
    "SecurityHeaders",
    "check_loopback",
    "check_token",
    "token_of",
]
