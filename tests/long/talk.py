"""Testers that print their own text at full count: forms, cables, damaged lines, texts of no tester."""

from tests.long import Check
from tests.reading.talk_counts import count_cables, count_damaged, count_forms, count_others, count_unaided

CHECKS = (
    Check("talk: every form is learnt", count_forms, 74),
    Check("talk: cables of learnt testers", count_cables, 5000, least=20),
    Check("talk: damaged lines", count_damaged, 800, least=20),
    Check("talk: ends named, unaided", count_unaided, 300, least=100),
    Check("talk: texts of no tester", count_others, 2000),
)
