"""What every kind of plan is made from: stretches, sections, leads, prices and quick models."""
