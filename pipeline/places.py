"""Where the SQL, the page templates and the demo export are: in an installed wheel, else at the root of a checkout."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).resolve().parent
_ROOT = _HERE / "_shipped" if (_HERE / "_shipped").is_dir() else _HERE.parent

SQL = _ROOT / "sql"
REPORTS = _ROOT / "reports"
DEMO_EXPORT = _ROOT / "demo_export"
DEMO_WORKBOOK = DEMO_EXPORT / "outreach" / "caseload.xlsx"
LAYOUT = _HERE / "export_layout.json"
