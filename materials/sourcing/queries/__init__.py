"""What a sourcing plan reads: needs, open offers, new prices, known conversions."""
