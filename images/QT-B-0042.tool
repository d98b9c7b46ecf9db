# Quillbrook Turning, cutting large bushings off the bar, built-in limits
[tool]
id = QT-B-0042
kind = cutoff-blade
width_mm = 4.2
part_has_centre_hole = yes
