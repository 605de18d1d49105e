%
O0520 (HINGE PLATE, 12 MM ALUMINIUM, SIDE ONE)
(Invented example. Job HM-0520, revision B. Never run it on a machine.)
(Plate 160 x 90 in soft jaws, X0 Y0 middle of the plate, Z0 finished top)
(T1 = face mill D50)
(T2 = end mill D10, outline on the diameter in the control)
(T4 = drill D8.5)
(T5 = tap M10 x 1.5)
N10 G21 G90 G17 G94 G40 G80
N20 G54

(-- face the top --)
N30 T1 M6
N40 S4000 M3
N50 G43 H1
N60 G0 X-115. Y-22. Z20. M8
N70 G1 Z0. F800
N80 X115. F1600
N90 G0 Y22.
N100 G1 X-115. F1600
N110 G0 Z50. M9
N120 M5

(-- outline, cutter radius from the control --)
N130 T2 M6
N140 S12000 M3
N150 G43 H2
N160 G0 X-100. Y-60. Z10. M8
N170 G1 Z-12.2 F600
N180 G41 D2 X-80. F2400
N190 Y35.
N200 G2 X-70. Y45. I10. J0.
N210 G1 X80.
N220 Y-45.
N230 X-95.
N240 G40 X-110. Y-60.
N250 G0 Z50. M9
N260 M5

(-- four core holes --)
N270 T4 M6
N280 S3000 M3
N290 G43 H4
N300 G0 X-60. Y-25. Z10. M8
N310 G83 X-60. Y-25. Z-15. R2. Q4. F450
N320 X60.
N330 Y25.
N340 X-60.
N350 G80
N360 G0 Z50. M9
N370 M5

(-- four threads, feed = speed x pitch --)
N380 T5 M6
N390 S250 M3
N400 G43 H5
N410 G0 X-60. Y-25. Z10. M8
N420 G84 X-60. Y-25. Z-13. R4. F375
N430 X60.
N440 Y25.
N450 X-60.
N460 G80
N470 G0 Z80. M9
N480 M5
N490 G49
N500 M30
%
