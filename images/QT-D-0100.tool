# Quillbrook Turning, roughing drill, built-in limits but for chips
[tool]
id = QT-D-0100
kind = twist-drill
material = high-speed-steel
diameter_mm = 10

[limits]
chip_depth_a_mm = .. 0.1
chip_depth_b_mm = .. 0.1
