# Quillbrook Turning, 1/2 inch, flange holes
[tool]
id = QT-D-0127
kind = twist-drill
diameter_mm = 12.7

[limits]
point_angle_deg = 116 .. 120
lip_height_difference_mm = -0.08 .. 0.08
point_offset_mm = -0.06 .. 0.06
