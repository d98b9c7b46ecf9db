#include "tool/face/face_view.h"

#include <math.h>

#include "result/build.h"
#include "tool/as_taken.h"
#include "tool/face/before.h"
#include "tool/face/body.h"
#include "tool/face/face.h"
#include "tool/face/grain.h"
#include "tool/face/nothing.h"
#include "tool/flank/coating.h"
#include "tool/flank/marks.h"
#include "tool/measure_again.h"
#include "tool/pose.h"

/* The edge's ends are found in the reduced picture. */
#define END_CELLS 2.0

/* Marks are looked for below the edge's own blur. */
#define MARKS_FROM_PX 4

static void
see_width (const WsFace *face, const WsOptics *optics, WsResult *result)
{
  wsi_result_see (result, WS_TRAIT_WIDTH, face->strip.length, END_CELLS * face->coarse->factor,
                  optics);
  result->seen[WS_TRAIT_WIDTH].in_part = face->in_part;
}

/* A straight edge alone is no proof of the tool: its length has to be the tool's. */
static void
hold_without_width (const WsToolCard *card, WsResult *result)
{
  if (card != NULL && !(card->width_mm > 0) && card->form.nominal == NULL)
    wsi_result_hold (result, WS_HOLD_TOOL, "not-judged",
                     "The card says no width to hold the edge against: add width_mm to it.");
}

/* The greatest land that a tool is still in one piece with, mm: four times the VB max that ends a
 * tool's life (ISO 3685:1993 as quoted by a public page), and more than a photograph of a grossly
 * worn edge shows, 2.06 mm; or the edge's length. */
#define GREATEST_LAND_MM 2.4

static double
least_depth (const WsFace *face, const WsOptics *optics)
{
  const double length = face->strip.length;
  return optics->has_scale ? fmin (GREATEST_LAND_MM / optics->mm_per_px, length) : length;
}

static void
tell_covered (const WsFlank *flank, WsResult *result)
{
  if (flank->land.covered)
    wsi_result_add_finding (
      result, "flank-short",
      g_strdup_printf ("Flank shows only as deep as %.2f of the edge's length: a land that covers "
                       "all of it would have no end to be seen by. Show more of the flank.",
                       flank->deep->depth / (double)flank->strip->length),
      NULL);
}

/* What is found on a flank, or that nothing is, is told of flanks alone. */
static void
report (WsFlank *flank, const WsFace *face, const WsImage *image, const WsToolCard *card,
        const WsOptics *optics, WsResult *result)
{
  WsMarks marks;
  wsi_marks_find (flank->band, MARKS_FROM_PX, &marks);
  if (marks.seen)
  {
    wsi_flanks_judge (flank, 1, image, &face->coarse->ground);
    wsi_front_lit_add (flank, 1, card, optics, result);
    tell_covered (flank, result);
    wsi_coating_check (flank->coating, flank->tint, result);
    return;
  }
  wsi_front_lit_add_unknown (optics, result);
  wsi_result_add_finding (
    result, "flank-unsure",
    g_strdup (
      "No grinding marks of one direction show on the flank, so nothing proves that wear or "
      "burn would have been seen. Check that this is the tool's flank, focus on it, and let "
      "light graze the marks."),
    NULL);
}

static void
measure_flank (WsFlank *flank, const WsFace *face, const WsImage *image, const WsToolCard *card,
               const WsOptics *optics, WsResult *result)
{
  WsPictureShape shape;
  if (!wsi_picture_shape (image, optics, face->coarse, &shape, result))
    return;
  see_width (face, optics, result);
  hold_without_width (card, result);
  report (flank, face, image, card, optics, result);
  wsi_picture_shape_add_to_lengths (&shape, result);
}

/* Edges and sides of a menu or a drawing are straight, too. */
static gboolean
drawing_check (const WsFace *face, const WsFaceBody *body, const WsSampler *sampler,
               const WsOptics *optics, WsResult *result)
{
  if (!wsi_face_is_drawn (face, sampler, optics, body->depth))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the surface below the edge is even as in a drawing, without the "
                            "grain of ground metal; take a photograph of the tool");
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  WsSampler sampler;
  WsFace face;
  WsFaceBody body;
  wsi_sampler_init (&sampler, image);
  if (wsi_face_find (&sampler, optics, &face, result))
  {
    wsi_face_body_look (&face, &sampler, optics, &body);
    if (wsi_face_noise_check (image, result) && wsi_face_focus_check (&face, &body, result) &&
        wsi_face_body_check (&face, &body, result) &&
        drawing_check (&face, &body, &sampler, optics, result) &&
        wsi_face_before_check (&face, &sampler, optics, result))
    {
      g_autoptr (WsBand) deep = wsi_face_deep_band (&face, body.depth, &sampler, optics);
      WsFlank flank = { .strip = &face.strip,
                        .band = wsi_face_band (&face, &sampler, optics),
                        .deep = deep,
                        .least_depth = least_depth (&face, optics),
                        .coating = card != NULL ? card->coating : WS_COATING_UNKNOWN,
                        .blur_px = fmin (face.blur_px, body.blur_px) };
      measure_flank (&flank, &face, image, card, optics, result);
      wsi_flanks_clear (&flank, 1);
    }
  }
  wsi_face_clear (&face);
}

/* A calibrated lens belongs to the picture as the camera took it. */
void
wsi_face_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                  WsResult *result)
{
  const WsPose pose = wsi_pose_of (image);
  g_autoptr (WsImage) laid = optics->lens == NULL ? wsi_pose_lay (&pose, image) : NULL;
  measure (laid != NULL ? laid : image, card, optics, result);
  if (laid != NULL)
    wsi_pose_lay_back (&pose, result);
}

void
wsi_face_advise (const WsToolCard *card, WsResult *result)
{
  wsi_front_lit_advise (card, result);
  wsi_advise_measuring_again (card, result, NULL);
}
