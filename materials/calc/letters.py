"""Letters that count: columns of a sheet, kinds of pieces in a drawing."""


def letters(number: int) -> str:
    """1 → A, 27 → AA."""
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text
