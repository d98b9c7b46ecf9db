# Quillbrook Turning, general drilling, bar work
[tool]
id = QT-D-0118
kind = twist-drill
diameter_mm = 6.5

[limits]
point_angle_deg = 116 .. 120
half_angle_difference_deg = -0.5 .. 0.5
lip_height_difference_mm = -0.05 .. 0.05
point_offset_mm = -0.04 .. 0.04
