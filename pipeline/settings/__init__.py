"""What the service chose: audit_toml reads its settings, confirmed says what can be confirmed in writing."""

from pipeline.settings.audit_toml import (
    FILE_NAME,
    SETTINGS,
    Gate,
    Settings,
    first_settings,
    parse_settings,
    read_settings,
)

__all__ = (
    "FILE_NAME",
    "SETTINGS",
    "Gate",
    "Settings",
    "first_settings",
    "parse_settings",
    "read_settings",
)
