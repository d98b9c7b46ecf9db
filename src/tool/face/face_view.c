#include "tool/face/face_view.h"

#include "tool/face/face.h"

void
ws_face_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                 WsResult *result)
{
  (void)card;
  WsSampler sampler;
  WsFace face;
  ws_sampler_init (&sampler, image);
  if (ws_face_find (&sampler, optics, &face, result))
  {
    WsFlank flank = { .strip = &face.strip, .band = ws_face_band (&face, &sampler, optics) };
    ws_flanks_judge (&flank, 1, image, &face.coarse->ground);
    ws_front_lit_add (&flank, 1, optics, result);
    ws_flanks_clear (&flank, 1);
  }
  ws_face_clear (&face);
}

void
ws_face_advise (const WsToolCard *card, WsResult *result)
{
  (void)card;
  ws_front_lit_advise (result);
}
