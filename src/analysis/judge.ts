/** From samples to a judgement: one plausibility front, every detector behind it, live or after the fact alike. */
