# Quillbrook Turning, left-hand drill, built-in limits
[tool]
id = QT-D-0080L
kind = twist-drill
diameter_mm = 8
