; invented program: the second tool runs at the speed of the first
G21
T1 M6
S24000 M3
G1 X10 F6000
M5
T2 M6
M3
G1 X20 F1200
M30
