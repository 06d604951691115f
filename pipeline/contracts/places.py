"""Where the SQL, the page templates and the demo export are: in an installed wheel, else at the root of a checkout."""

from __future__ import annotations

from pathlib import Path

_PIPELINE = Path(__file__).resolve().parents[1]
_ROOT = _PIPELINE / "_shipped" if (_PIPELINE / "_shipped").is_dir() else _PIPELINE.parent

SQL = _ROOT / "sql"
REPORTS = _ROOT / "reports"
DEMO_EXPORT = _ROOT / "demo_export"
DEMO_WORKBOOK = DEMO_EXPORT / "outreach" / "caseload.xlsx"
LAYOUT = Path(__file__).resolve().parent / "export_layout.json"
