"""Noise, drift and foreign voltages, stated once. Each is an assumption or from memory; none was measured here.

ADC12_NOISE_LSB_X100: r.m.s. of one reading of the chip's converter. Assumption (its datasheet gives 8.7
    effective bits, which is about 1.2 counts).
ADC12_OFFSET_LSB: assumption.
ADC16_NOISE_UV: r.m.s. of one conversion at the finest gain, 860 a second. Assumption.
GAIN_PPM: of the 12-bit converter against the supply. Assumption.
DRIFT_PPM_PER_HOUR: of the 100 kohm resistor and threshold together in the first hour after power-up. Assumption.
COMPARATOR_NOISE_UV, COMPARATOR_JITTER_PS: r.m.s. at its input, and of its delay. Assumptions.
COMPARATOR_DELAY_PS: constant, belongs to the zero. Assumption.
DELAY_GAIN_PPM: of the step's delay against its nominal slope. Assumption.
FEED_PPM: of the 100 kohm resistor against its value. Assumption (0.1 % part).
"""

ADC12_NOISE_LSB_X100 = 120
ADC12_OFFSET_LSB = 3
GAIN_PPM = 400
ADC16_NOISE_UV = 8
DRIFT_PPM_PER_HOUR = 200
COMPARATOR_NOISE_UV = 800
COMPARATOR_JITTER_PS = 300
COMPARATOR_DELAY_PS = 4_300
DELAY_GAIN_PPM = 15_000
FEED_PPM = 400

# Foreign voltages, millivolts: what a source of each kind shows, for tests and for cable files.
POE_PROBING_MV = (2_800, 10_000)  # IEEE 802.3, detection, from memory
SALT_CELL_MV = (100, 700)  # two metals in salt water, from memory
LINK_PULSE_MV = 1_000  # either way round, 100 ns, from memory
LINK_PULSE_EVERY_US = 16_000  # 10BASE-T link test pulses, from memory
