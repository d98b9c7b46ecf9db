/*
 * The mean of several frames of a scene that stays.
 */
#ifndef WS_CAMERA_STACK_H
#define WS_CAMERA_STACK_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct WsStack WsStack;

/* Free with wsi_stack_free(). */
WsStack *wsi_stack_new (void);
void wsi_stack_free (WsStack *stack);

/* Errors: WS_ERROR_DATA when the scene moved since the first frame, or the frame has another size
 * or other colour; WS_ERROR_TOO_LARGE. */
gboolean wsi_stack_add (WsStack *stack, const WsFrame *frame, GError **error);

/* The greatest shift of any part against the first frame so far, px. */
double wsi_stack_shift_px (const WsStack *stack);

/* Each pixel's mean; of WS_STACK_ROBUST frames and more without a value far off all others.  There
 * was a frame.  Errors: WS_ERROR_TOO_LARGE. */
#define WS_STACK_ROBUST 8
gboolean wsi_stack_mean (const WsStack *stack, WsFrame *mean, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsStack, wsi_stack_free)

G_END_DECLS

#endif
