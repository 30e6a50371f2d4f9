"""A worked vat log: reads like a pasteurisation, and fails the 30 minutes (worked out by hand).

Longest run at or above 63 °C: from 10 min to 35.83 min, 25.83 min, by straight lines between the readings.
"""

import numpy as np

VAT_LOG_MIN = np.array([0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0])
VAT_LOG_C = np.array([60.0, 62.0, 63.0, 63.2, 63.5, 63.5, 63.3, 63.1, 62.5])
