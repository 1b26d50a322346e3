"""One module a family of answers, each with `size(context) -> list[Sized]`, and what they alone read."""
