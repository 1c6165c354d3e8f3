"""The power report: findings, figures and plots for people."""
