"""Reading tables that other people made: nothing about them is taken for granted."""
