"""The kinds of plan: one file each, all of one signature."""
