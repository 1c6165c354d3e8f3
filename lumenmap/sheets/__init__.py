"""Paper for the ladder: cut lists, drill sheets, wiring, bill of materials."""
