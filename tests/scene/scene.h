/*
 * Pictures with known truth: a solid two-flute drill, its silhouette, and a camera.
 *
 * Shares no code and no header with the measuring side, so that a mistake there
 * can't hide behind the same mistake here.  Lengths are mm and angles degrees
 * unless a name says otherwise; pixel (0,0) has its centre at (0,0), y down.
 */
#ifndef SCENE_H
#define SCENE_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  double x, y;
} ScenePoint;

/* A closed polygon; `weight` is how opaque it is (1 for a tool). */
typedef struct
{
  ScenePoint *points;
  gsize n;
  double weight;
} ScenePolygon;

void scene_polygon_clear (ScenePolygon *polygon);

/* Straight edges aren't straight through a lens that distorts: puts points in, so that no piece is
 * longer than `most`. */
void scene_polygon_divide (ScenePolygon *polygon, double most);

/* xoshiro256** (Blackman and Vigna 2018), seeded by splitmix64. */
typedef struct
{
  guint64 s[4];
} SceneRng;

void scene_rng_init (SceneRng *rng, guint64 seed);
guint64 scene_rng_next (SceneRng *rng);
double scene_rng_uniform (SceneRng *rng, double low, double high);
double scene_rng_normal (SceneRng *rng);

/* --- The drill ---------------------------------------------------------- */

typedef struct
{
  double depth; /* below the lip; 0: no chip */
  double width; /* along the lip */
  double place; /* its middle, as a fraction of the radius from the axis */
} SceneChip;

/* A wire edge: metal that the wheel pushed over a lip, proud of it. */
typedef struct
{
  double height;   /* above the lip line where it is highest; 0: none */
  double from, to; /* fractions of the radius from the axis; to 1 it reaches the corner */
  double grain;    /* mm: how far apart its teeth are */
  double taper;    /* share of its length that it takes to rise, at each end */
  gboolean rolled; /* laid over smoothly instead of torn */
  guint64 seed;
} SceneBurr;

/* The ground angles, `offset` and `height` are what the grinder set; what came of
 * it is in SceneTruth.  Lip a is on the left when the point is up. */
typedef struct
{
  double diameter;
  double helix_deg; /* at the outer corner */
  gboolean left_hand;
  double web;               /* thickness */
  double design_half_angle; /* at which the flute gives a straight lip */
  double margin;            /* width of the margin along the circumference */
  double clearance;         /* radius of the body behind the margin is less by this */
  double land_deg;          /* from leading edge to heel */
  double relief_deg;        /* at the outer corner */
  double cone_distance;     /* cone apex beyond the axis, in radii, >= 1.4; 0: plane flanks */
  double cone_share;        /* the cone's own half angle, as part of the point's */
  double half_angle_a, half_angle_b;
  double offset; /* of the apex toward lip b, at equal angles */
  double height; /* lip a's corner above lip b's, in addition */
  SceneChip chip_a, chip_b;
  SceneBurr burr_a, burr_b;
  double corner_a, corner_b; /* radius of a worn corner; 0: sharp */
} SceneDrill;

/* A good 118 degree drill. */
void scene_drill_init (SceneDrill *drill, double diameter);

/* Names and signs as the records have them. */
typedef struct
{
  double point_angle_deg;
  double half_angle_a_deg, half_angle_b_deg;
  double half_angle_difference_deg;
  double lip_length_a_mm, lip_length_b_mm;
  double lip_length_difference_mm;
  double lip_height_difference_mm;
  double point_offset_mm;
  double diameter_mm;
  double point_length_mm; /* mean of both theoretical corners to the foremost point */
  double corner_wear_a_mm, corner_wear_b_mm;
  double lip_straightness_a_mm, lip_straightness_b_mm; /* unchipped, peak to valley */
  double lip_bow_mm;                                   /* greatest departure, either lip */
  double chip_depth_a_mm, chip_depth_b_mm;
  double burr_height_a_mm, burr_height_b_mm;
  /* Between the burr's outermost places of a quarter of its height, along the lip. */
  double burr_length_a_mm, burr_length_b_mm;
  double chisel_flat_mm; /* between the lips' inner ends, across the axis */
  double view_turn_deg;
} SceneTruth;

/* --- The camera --------------------------------------------------------- */

typedef enum
{
  SCENE_SRGB,
  SCENE_LINEAR
} SceneEncoding;

/* What lies on the ground beside the tool. */
typedef enum
{
  SCENE_NOTHING,
  SCENE_CARD,
  SCENE_PIN
} SceneBeside;

typedef struct
{
  guint width, height;
  double mm_per_px;
  double roll_deg;           /* 0: point up; positive turns it clockwise */
  double origin_x, origin_y; /* px: the axis at the height of the lips' nominal apex */
  double turn_deg;           /* lips out of the image plane */
  double tilt_deg;           /* axis out of the image plane */

  /* The lens.  All before this holds for the ideal picture, on the plane of the axis. */
  double distance_mm;        /* of the camera from that plane; 0: telecentric */
  double centre_x, centre_y; /* px: principal point, from the picture's middle */
  double k1, k2;             /* Brown's, on normalised coordinates; a telecentric lens has only k1,
                                ideal = middle + (seen - middle) (1 + k1 r^2), r in half diagonals */
  double shrink_px;          /* edges are seen so far inside the tool, as light blooms */
  double stretch;            /* pixels so much narrower than high: all is so much wider */
  double skew;               /* px to the right a row, as a rolling shutter makes */

  double blur_px;     /* sigma of the lens */
  double defocus_px;  /* radius of a disc of confusion */
  double motion_px;   /* length of a movement during exposure */
  double motion_deg;  /* its direction in the picture */
  double back, front; /* light of ground and tool, of full scale, linear */
  double sheen;       /* lit from the front: the tool's light varies by this part in bands */
  double streaks;     /* and in streaks along the grinding, */
  double streak_deg;  /* which runs this way in the picture */
  double mottle;      /* and the ground's in clouds */
  SceneBeside beside;
  double light_x;    /* relative slope of the ground's light over half the width */
  double light_y;    /* and height */
  double vignette;   /* relative loss of the ground's light in the corners */
  double shot, read; /* noise: sigma^2 = shot^2 * light + read^2, of full scale */
  double tint[3];    /* factors for red, green, blue */
  guint dust;        /* specks on the ground */
  guint dust_body;   /* crumbs that cling to the body's sides, clear of the point */
  SceneEncoding encoding;
  gboolean tagged;   /* say the encoding in the file */
  guint bits;        /* 8 or 16 */
  gboolean colour;   /* three channels */
  gboolean negative; /* light is dark in the file, and dark light */
  guint64 seed;
} SceneCamera;

void scene_camera_init (SceneCamera *camera);

/* Puts the point in view: the diameter fills `share` of the shorter side. */
void scene_camera_aim (SceneCamera *camera, const SceneDrill *drill, double share);

typedef struct
{
  guint width, height, channels, bits;
  SceneEncoding encoding;
  gboolean tagged;
  guint8 *data; /* rows without padding; guint16 in host order when bits is 16 */
} SceneImage;

void scene_image_free (SceneImage *image);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (SceneImage, scene_image_free)

/* How a drill is looked at. */
typedef struct
{
  double turn_deg, tilt_deg; /* as in SceneCamera */
  double distance;           /* mm; 0: parallel projection */
  ScenePoint foot;           /* mm, where the camera looks square at the plane of the axis */
} SceneView;

/* The outline in mm, (across, along the axis toward the point), origin as in
 * SceneCamera; the tool reaches down to `bottom` < 0.  A near camera's is projected onto the
 * plane of the axis; truth is always that of the tool seen square on in parallel projection.
 * `truth` may be NULL. */
ScenePolygon scene_drill_seen (const SceneDrill *drill, const SceneView *view, double bottom,
                               SceneTruth *truth);

/* The same in parallel projection. */
ScenePolygon scene_drill_outline (const SceneDrill *drill, double turn_deg, double tilt_deg,
                                  double bottom, SceneTruth *truth);

/* Outline in mm to outline in px, through the lens. */
void scene_camera_project (const SceneCamera *camera, ScenePolygon *outline);

/* Takes the picture of one drill.  The caller owns the result. */
SceneImage *scene_render (const SceneDrill *drill, const SceneCamera *camera, SceneTruth *truth);

/* The same for any polygons, already in px. */
SceneImage *scene_render_polygons (const ScenePolygon *polygons, gsize n,
                                   const SceneCamera *camera);

/* --- Chessboards ----------------------------------------------------------- */

typedef struct
{
  guint columns, rows;           /* inner corners; squares are one more each way */
  double square;                 /* mm */
  double rx_deg, ry_deg, rz_deg; /* turned about the picture's x, then y, then its own normal */
  double x, y, z; /* mm: middle of the board from the foot of the line of sight, right, down in
                     the picture and toward the camera */
} SceneBoard;

/* Where the board's inner corners are seen, row by row: rows x columns points, px.  Free with
 * g_free(). */
ScenePoint *scene_board_corners (const SceneBoard *board, const SceneCamera *camera);

/* Its picture, by transmitted light: dark squares on a light ground. */
SceneImage *scene_render_board (const SceneBoard *board, const SceneCamera *camera);

/* --- Plain edges for tests of edge finding ------------------------------- */

typedef enum
{
  SCENE_HALF_PLANE, /* dark behind a line through (x, y); angle points to the light */
  SCENE_WEDGE,      /* dark, opens by `opening_deg` about the direction `angle_deg` from (x, y) */
  SCENE_DISC        /* dark, radius about (x, y) */
} SceneShape;

typedef struct
{
  SceneShape shape;
  double x, y;
  double angle_deg;
  double opening_deg;
  double radius;
} SceneEdge;

/* Light of an edge without noise, 0 (dark) to 1, width x height, row by row.  A half-plane
 * is the closed form of a blurred step averaged over each pixel; the rest is a sum along the
 * outline, exact to 1e-6.  Free with g_free(). */
double *scene_edge_light (const SceneEdge *edge, guint width, guint height, double blur_px);

/* With the camera's size, blur, levels, noise and encoding. */
SceneImage *scene_render_edge (const SceneEdge *edge, const SceneCamera *camera);

/* Exact area coverage of pixels, after a Gaussian blur when `blur_px` > 0; everything is moved
 * by `shift`. */
typedef struct
{
  guint width, height;
  double blur_px;
  ScenePoint shift;
} SceneGrid;

/* Adds the polygon's coverage, times its weight, to (width + 1) x height sums, zero at first. */
void scene_cover_add (const ScenePolygon *polygon, const SceneGrid *grid, double *sums);

/* Turns the sums into the covered part of each pixel, 0 to 1. */
void scene_cover_finish (const SceneGrid *grid, const double *sums, float *cover);

/* --- Whole scenes -------------------------------------------------------- */

typedef enum
{
  SCENE_GOOD,
  SCENE_UNEQUAL,
  SCENE_OFFSET,
  SCENE_HEIGHT,
  SCENE_CHIP,
  SCENE_CORNER,
  SCENE_N_MODES
} SceneMode;

const char *scene_mode_name (SceneMode mode);

/* Sharpness, light, noise, dust and encoding as a shop may have them. */
void scene_random_light (SceneRng *rng, SceneCamera *camera);

/* The same lit from the front before a grey or light ground; a card or a pin may lie beside
 * the tool. */
void scene_random_front_light (guint64 seed, SceneCamera *camera);

/* A drill and a camera as a shop may have them; the same seed gives the same scene. */
void scene_random (guint64 seed, SceneMode mode, SceneDrill *drill, SceneCamera *camera);

/* The same drill seen by a near camera: 100 to 300 mm away, up to 2 % of distortion in the
 * corners, mostly barrel.  Drills of 3 to 13 mm; 90 degree points among them. */
void scene_random_near (guint64 seed, SceneMode mode, SceneDrill *drill, SceneCamera *camera);

/* Makes the camera a near one: 100 to 300 mm away, up to 2 % of distortion in the corners. */
void scene_random_lens (SceneRng *rng, SceneCamera *camera);

/* A picture that must be refused.  `kind` is one of scene_trap_kinds(); NULL if it is not.
 * `reasons` (optional): the codes that say what is wrong, comma-separated; static. */
const char *const *scene_trap_kinds (void);
SceneImage *scene_trap (const char *kind, guint64 seed, const char **reasons);

/* --- Wire edges and dirt -------------------------------------------------- */

typedef enum
{
  SCENE_DROP,     /* of coolant, with a rim that lets light through */
  SCENE_FRAGMENT, /* of a chip or of dirt */
  SCENE_HAIR,     /* or dust fibre */
  SCENE_FILM      /* of oil on one lip */
} SceneDirtKind;

typedef enum
{
  SCENE_AT_CORNER,
  SCENE_AT_LIP,
  SCENE_AT_TIP,
  SCENE_AT_BODY
} SceneDirtPlace;

typedef struct
{
  SceneDirtKind kind;
  SceneDirtPlace place;
  int side;       /* -1 left with the point up, 1 right */
  double along;   /* at a lip radii from the axis, at the body radii below the corner */
  double size;    /* mm: radius of a drop or fragment, width of a hair, thickness of a film */
  double proud;   /* mm: its middle above the tool's outline */
  double length;  /* mm, of a hair; of a film, radii */
  double opacity; /* 0 to 1, of a drop's rim, a hair, a film */
  guint64 seed;
} SceneDirt;

/* Takes the picture of one drill with dirt on it. */
SceneImage *scene_render_dirty (const SceneDrill *drill, const SceneCamera *camera,
                                const SceneDirt *dirt, gsize n, SceneTruth *truth);

/* Drill and camera as by scene_random(), with what `kind` says, which is one of
 * scene_proud_kinds(); FALSE if it is not.  Fills `dirt` and its number. */
#define SCENE_MAX_DIRT 4
const char *const *scene_proud_kinds (void);
gboolean scene_random_proud (guint64 seed, const char *kind, SceneDrill *drill, SceneCamera *camera,
                             SceneDirt dirt[SCENE_MAX_DIRT], gsize *n);

/* Its picture and its truth; NULL when there is no such kind. */
SceneImage *scene_proud (guint64 seed, const char *kind, char **json);

/* --- Files --------------------------------------------------------------- */

/* PNG, or JPEG when the name ends in .jpg; FALSE when it can't be written. */
gboolean scene_image_save (const SceneImage *image, const char *path, int jpeg_quality);

/* One line of JSON, without a newline.  Free with g_free(). */
char *scene_truth_json (const char *file, const char *mode, guint64 seed, const SceneDrill *drill,
                        const SceneCamera *camera, const SceneTruth *truth);

/* The camera, and the corners as seen. */
char *scene_board_json (const char *file, const SceneBoard *board, const SceneCamera *camera);

G_END_DECLS

#endif
