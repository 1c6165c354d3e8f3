"""What the figures mean: findings, tables and plots for people."""
