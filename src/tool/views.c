#include <whetsight/judge.h>
#include <whetsight/view.h>

#define WS_VIEW(view) extern const WsView view;
#include "tool/views.def"
#undef WS_VIEW

static const WsView *const views[] = {
#define WS_VIEW(view) &view,
#include "tool/views.def"
#undef WS_VIEW
  NULL,
};

const WsView *const *
ws_views (void)
{
  return views;
}

const WsView *
ws_view_find (const char *name)
{
  for (const WsView *const *view = views; *view != NULL; view++)
    if (g_str_equal ((*view)->name, name))
      return *view;
  return NULL;
}

const WsView *
ws_view_for_kind (WsToolKind kind)
{
  for (const WsView *const *view = views; *view != NULL; view++)
    if ((*view)->kinds & 1U << kind)
      return *view;
  return NULL;
}

WsResult *
ws_measure (const WsView *view, const WsImage *image, const WsToolCard *card,
            const WsOptics *optics)
{
  WsResult *result = ws_result_new (view->name);
  view->measure (image, card, optics, result);
  if (result->reason == WS_RETAKE_NONE)
    ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  if (result->reason == WS_RETAKE_NONE && view->advise != NULL)
    view->advise (card, result);
  return result;
}
