"""What the service chose: known names its settings, audit_toml reads them; confirmed says what can be confirmed."""

from pipeline.settings.audit_toml import (
    FILE_NAME,
    Gate,
    Publish,
    Settings,
    first_settings,
    parse_settings,
    read_settings,
)
from pipeline.settings.known import SETTINGS

__all__ = (
    "FILE_NAME",
    "SETTINGS",
    "Gate",
    "Publish",
    "Settings",
    "first_settings",
    "parse_settings",
    "read_settings",
)
