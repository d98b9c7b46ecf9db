#include "tool/face/face_view.h"

#include "result/build.h"
#include "tool/face/face.h"
#include "tool/measure_again.h"
#include "tool/pose.h"

/* The edge's ends are found in the reduced picture. */
#define END_CELLS 2.0

static void
see_width (const WsFace *face, const WsOptics *optics, WsResult *result)
{
  wsi_result_see (result, WS_TRAIT_WIDTH, face->strip.length, END_CELLS * face->coarse->factor,
                  optics);
  result->seen[WS_TRAIT_WIDTH].in_part = face->in_part;
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  WsSampler sampler;
  WsFace face;
  wsi_sampler_init (&sampler, image);
  if (wsi_face_find (&sampler, optics, &face, result))
  {
    see_width (&face, optics, result);
    WsFlank flank = { .strip = &face.strip, .band = wsi_face_band (&face, &sampler, optics) };
    wsi_flanks_judge (&flank, 1, image, &face.coarse->ground);
    wsi_front_lit_add (&flank, 1, card, optics, result);
    wsi_flanks_clear (&flank, 1);
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
