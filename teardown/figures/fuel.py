"""What a cubic metre of fuel weighs at 15 C, and its standard uncertainty: half of the range over root three."""

from math import sqrt

# petrol lies between 720 and 775 kg/m3: EN 228:2012, secondary copy
PETROL_KG_PER_M3 = 747.5
PETROL_U_KG_PER_M3 = 27.5 / sqrt(3)

# diesel lies between 820 and 845 kg/m3: EN 590, from memory
DIESEL_KG_PER_M3 = 832.5
DIESEL_U_KG_PER_M3 = 12.5 / sqrt(3)

# liquid gas lies between propane, 508 kg/m3, and butane, 584 kg/m3: from memory. Compressed gas is not measured in
# litres: it is weighed at the same pressure
GAS_KG_PER_M3 = 546.0
GAS_U_KG_PER_M3 = 38.0 / sqrt(3)
