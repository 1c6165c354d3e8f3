"""Sheets to build from: cut lists, drill sheets, wiring, bill of materials."""
