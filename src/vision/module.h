/*
 * What the files of the module with OpenCV share.
 */
#ifndef WS_VISION_MODULE_H
#define WS_VISION_MODULE_H

#include "vision/ws_vision.h"

#include <iostream>

namespace wsi_vision
{

/* OpenCV prints what it catches itself; what went wrong is told by our caller alone. */
class Silence
{
public:
  Silence () : kept (std::cerr.rdbuf (nullptr))
  {
  }
  ~Silence ()
  {
    std::cerr.rdbuf (kept);
  }
  Silence (const Silence &) = delete;
  Silence &operator= (const Silence &) = delete;

private:
  std::streambuf *kept;
};

/* As in WsVisionModule. */
const char *open_video (const char *path, gpointer *video, double *rate) noexcept;
const char *read_video (gpointer video, WsVisionFrame *frame) noexcept;
void close_video (gpointer video) noexcept;

} // namespace wsi_vision

#endif
