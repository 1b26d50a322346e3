"""The handbook: one page of HTML that carries a plant on a phone, without a network."""
