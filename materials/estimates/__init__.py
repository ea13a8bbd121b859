"""Estimating the next build from earlier ones, and judging the estimate afterwards."""
