/*
 * Tool cards: what the shop says a tool should be.
 *
 * A card is a GLib key file, NAME.tool:
 *
 *   [tool]
 *   id = QT-D-0118
 *   kind = twist-drill
 *   diameter_mm = 6.5
 *
 *   [limits]
 *   point_angle_deg = 116 .. 120
 *   lip_height_difference_mm = -0.05 .. 0.05
 *   chip_depth_a_mm = .. 0.1
 */
#ifndef WHETSIGHT_CARD_H
#define WHETSIGHT_CARD_H

#include <whetsight/contour.h>
#include <whetsight/master.h>
#include <whetsight/part.h>

G_BEGIN_DECLS

typedef enum
{
  WS_KIND_TWIST_DRILL,
  WS_KIND_SPOT_DRILL,
  WS_KIND_CUTOFF_BLADE,
  WS_KIND_FORM_TOOL,
  WS_N_KINDS
} WsToolKind;

/* "twist-drill" and so on; static. */
const char *ws_tool_kind_name (WsToolKind kind);

typedef struct
{
  char *quantity; /* full name with its unit, "point_angle_deg" */
  double lower;   /* -INFINITY when open */
  double upper;   /* +INFINITY when open */
} WsLimit;

/* What a form tool's card says of its profile. */
typedef struct
{
  WsContour *nominal; /* as it must stand on the tool's face; NULL when the card has none */
  WsContour *part;    /* the part's, when `nominal` was made from it; else NULL */
  WsFormCorrection correction; /* by which; means something only beside `part` */
  gboolean is_mirrored;        /* the drawing shows the profile from the other side than the
                                  camera does; `nominal` is already turned over */
  gboolean by_dovetail;        /* the tool's sides give the profile's direction */
} WsFormSpec;

/* Which of a blade's long edges angles are counted from. */
typedef enum
{
  WS_REFERENCE_CENTRE, /* half-way between the two sides */
  WS_REFERENCE_LEFT,   /* as seen with the front edge up */
  WS_REFERENCE_RIGHT
} WsReferenceSide;

typedef enum
{
  WS_ANSWER_UNKNOWN, /* the card doesn't say */
  WS_ANSWER_NO,
  WS_ANSWER_YES
} WsAnswer;

/* Of a drill's flutes; of a cutoff blade's edge: the corner that leads, with the top face toward
 * the viewer and the edge pointing away from him. */
typedef enum
{
  WS_HAND_UNKNOWN,
  WS_HAND_RIGHT,
  WS_HAND_LEFT
} WsHand;

/* "right", "left"; NULL when unknown; static. */
const char *ws_hand_name (WsHand hand);

/* What the cutting edge is made of. */
typedef enum
{
  WS_MATERIAL_UNKNOWN,
  WS_MATERIAL_CARBON_STEEL,
  WS_MATERIAL_HIGH_SPEED_STEEL,
  WS_MATERIAL_CARBIDE,
  WS_MATERIAL_CERAMIC,
  WS_N_MATERIALS
} WsMaterial;

/* "carbon-steel", "high-speed-steel", "carbide", "ceramic"; NULL when unknown; static. */
const char *ws_material_name (WsMaterial material);

/* What its flanks are covered with, as they are to be seen. */
typedef enum
{
  WS_COATING_UNKNOWN,
  WS_COATING_NONE,
  WS_COATING_TIN,
  WS_COATING_ZRN,
  WS_COATING_TICN,
  WS_COATING_TIALN,
  WS_COATING_CRN,
  WS_COATING_BLACK_OXIDE,
  WS_N_COATINGS
} WsCoating;

/* "none", "TiN", "ZrN", "TiCN", "TiAlN", "CrN", "black-oxide"; NULL when unknown; static. */
const char *ws_coating_name (WsCoating coating);

typedef struct
{
  char *id; /* NULL when measured without a card */
  WsToolKind kind;
  double diameter_mm;   /* NAN when the card doesn't say */
  double width_mm;      /* NAN when the card doesn't say */
  double web_mm;        /* NAN when the card doesn't say */
  double min_length_mm; /* what must be left of it to be reground; NAN when the card doesn't say */
  double length_mm;     /* of a drill, shank and all; NAN when the card doesn't say */
  WsHand hand;          /* unknown when the card doesn't say */
  WsMaterial material;  /* unknown when the card doesn't say */
  WsCoating coating;    /* unknown when the card doesn't say */
  double side_rake_deg; /* of a blade, for its section; NAN when the card doesn't say */
  WsAnswer part_has_centre_hole;
  WsReferenceSide reference_side;
  char **views;    /* that must all be good for the tool to be fit, or NULL */
  char **required; /* full names of what must be judged beside what the views require, or NULL */
  GArray *limits;  /* of WsLimit */
  WsFormSpec form; /* of a form tool */
  WsPartSpec part;
  char *sha256;       /* of the card's file, not of a profile beside it; NULL when it is of none */
  gboolean is_master; /* kept to compare benches by, never used: the card has a group [master] */
  GArray *masters;    /* of WsMasterValue: what is known of it */
} WsToolCard;

/* A card that says nothing but the kind.  Free with ws_tool_card_free(). */
WsToolCard *ws_tool_card_new (WsToolKind kind);

/* Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA naming group, key and what is expected there.
 * Unknown keys are errors too: a mistyped limit must not be skipped in silence. */
WsToolCard *ws_tool_card_load (const char *path, GError **error);

/* The card's own limit for a quantity, or NULL.  Owned by the card. */
const WsLimit *ws_tool_card_limit (const WsToolCard *card, const char *quantity);

/* What the card of a master tool says of a quantity, or NULL.  Owned by the card. */
const WsMasterValue *ws_tool_card_master (const WsToolCard *card, const char *quantity);

void ws_tool_card_free (WsToolCard *card);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsToolCard, ws_tool_card_free)

G_END_DECLS

#endif
