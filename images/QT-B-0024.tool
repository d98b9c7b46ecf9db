# Quillbrook Turning, cutting solid pins off the bar, built-in limits
[tool]
id = QT-B-0024
kind = cutoff-blade
width_mm = 2.4
part_has_centre_hole = no
hand = right
side_rake_deg = 11
