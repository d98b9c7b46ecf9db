#include <whetsight/retake.h>

#include "base/language.h"

static const struct
{
  const char *code;
  const char *sentence;
} retakes[WS_N_RETAKES] = {
  [WS_RETAKE_NONE] = { NULL, "" },
  [WS_RETAKE_NO_TOOL] = { "no-tool",
                          N_ ("There is no tool in the picture. Put the tool where the camera sees "
                              "it, its point or edge well inside the frame: for a silhouette "
                              "before the light, else in the light on plain ground.") },
  [WS_RETAKE_SEVERAL_TOOLS] = { "several-tools",
                                N_ ("There is more than one thing in the picture. "
                                    "Show one tool alone, with nothing behind it.") },
  [WS_RETAKE_CUT_BY_FRAME] = { "cut-by-frame",
                               N_ ("The tool is cut off by the edge of the picture. "
                                   "Move it so that the whole "
                                   "point and some of the body behind it are inside.") },
  [WS_RETAKE_OUT_OF_FOCUS] = { "out-of-focus", N_ ("The edges are out of focus. Focus on the lips "
                                                   "and take the picture again.") },
  [WS_RETAKE_MOTION_BLUR] = { "motion-blur",
                              N_ ("The picture is smeared by movement. Clamp the tool "
                                  "and the camera, use a "
                                  "remote or timed release, or a shorter exposure.") },
  [WS_RETAKE_OVER_EXPOSED] = { "over-exposed",
                               N_ ("The picture is too bright: the light eats into the edges. "
                                   "Shorten the exposure or turn the light down until neither "
                                   "background nor tool is quite white.") },
  [WS_RETAKE_UNDER_EXPOSED] = { "under-exposed", N_ ("The picture is too dark. Lengthen the "
                                                     "exposure or turn the light up.") },
  [WS_RETAKE_LOW_CONTRAST] = { "low-contrast",
                               N_ ("What is to be measured hardly stands out from what lies beside "
                                   "it. For a silhouette, light the plain background behind it "
                                   "alone; seen from the front, turn the light until edges and "
                                   "surfaces differ, on a darker or lighter ground.") },
  [WS_RETAKE_LIPS_TURNED] = { "lips-turned",
                              N_ ("The lips don't lie square to the camera. Turn the "
                                  "drill about its own axis "
                                  "until both lips show at their full length.") },
  [WS_RETAKE_TOO_SMALL] = { "too-small",
                            N_ ("The tool is too small in the picture. Move the camera "
                                "closer, use a stronger "
                                "lens, or a picture with more pixels.") },
  [WS_RETAKE_WRONG_VIEW] = { "wrong-view",
                             N_ ("The picture doesn't show this kind of tool from the "
                                 "side asked for. Check "
                                 "the tool card and the view, and how the tool lies.") },
  [WS_RETAKE_DIRTY_EDGE] = { "dirty-edge",
                             N_ ("Something sticks to the edge: a chip, dirt, oil or a "
                                 "burr. Clean the point "
                                 "and the light and take the picture again.") },
  [WS_RETAKE_SHARPENED] = { "sharpened",
                            N_ ("The picture was sharpened, which moves edges. Turn off "
                                "sharpening and "
                                "beautifying in the camera, and keep the picture as "
                                "taken.") },
  [WS_RETAKE_TONES_CHANGED] = { "tones-changed",
                                N_ ("The picture's tones were changed after it was "
                                    "taken, which moves edges: contrast, a filter, a "
                                    "negative, few colours. Measure the file as the "
                                    "camera wrote it.") },
  [WS_RETAKE_TONE_UNKNOWN] = { "tone-unknown", N_ ("The file doesn't say how its numbers stand for "
                                                   "light. Say it with --tone linear (as measuring "
                                                   "cameras write) or --tone srgb.") },
  [WS_RETAKE_NOT_AN_IMAGE] = { "not-an-image",
                               N_ ("The file is not a picture that can be read, or it "
                                   "is damaged. Use PNG, "
                                   "JPEG, TIFF or BMP and save it again.") },
  [WS_RETAKE_TOO_LARGE] = { "too-large",
                            N_ ("The picture has more pixels than allowed. Take it at a "
                                "lower resolution, or raise --max-megapixels.") },
  [WS_RETAKE_LEANING] = { "leaning",
                          N_ ("The tool leans toward the camera or away from it. Lay it "
                              "square to the camera's view, in a V-block or with its body "
                              "against a stop.") },
  [WS_RETAKE_PIXELS_NOT_SQUARE] = { "pixels-not-square", N_ ("The picture is squeezed, stretched "
                                                             "or skewed. Keep it as the "
                                                             "camera took it, without resizing; "
                                                             "hold tool and camera still "
                                                             "while it is taken.") },
};

const char *
ws_retake_code (WsRetake reason)
{
  return retakes[reason].code;
}

const char *
ws_retake_sentence (WsRetake reason)
{
  return retakes[reason].sentence;
}
