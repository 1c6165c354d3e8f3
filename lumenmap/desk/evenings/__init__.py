"""Evenings in the hands of the family: tonight and those to come, by way of the almanac."""
