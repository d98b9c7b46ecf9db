#include "vision/ws_vision.h"

#include <climits>
#include <cstring>
#include <iostream>

#include <opencv2/core.hpp>
#include <opencv2/core/utils/logger.hpp>
#include <opencv2/imgcodecs.hpp>

namespace
{

/* Copies the rows into memory of GLib, OpenCV's blue-green-red turned round. */
template <typename Sample>
void
copy_rows (const cv::Mat &from, WsVisionPicture *picture)
{
  for (int y = 0; y < from.rows; y++)
  {
    const Sample *source = from.ptr<Sample> (y);
    auto *target =
      reinterpret_cast<Sample *> (picture->samples + static_cast<gsize> (y) * picture->row_bytes);
    if (picture->channels == 1)
      std::memcpy (target, source, picture->row_bytes);
    else
      for (int x = 0; x < from.cols; x++, source += 3, target += 3)
      {
        target[0] = source[2];
        target[1] = source[1];
        target[2] = source[0];
      }
  }
}

const char *
fill (const cv::Mat &decoded, WsVisionPicture *picture)
{
  if (decoded.empty ())
    return "it can't be decoded";
  if (decoded.channels () != 1 && decoded.channels () != 3)
    return "neither grey nor RGB";
  if (decoded.depth () != CV_8U && decoded.depth () != CV_16U)
    return "neither 8 nor 16 bits a sample";

  picture->width = static_cast<guint> (decoded.cols);
  picture->height = static_cast<guint> (decoded.rows);
  picture->channels = static_cast<guint> (decoded.channels ());
  picture->bits = decoded.depth () == CV_8U ? 8 : 16;
  picture->row_bytes = decoded.elemSize () * picture->width;
  picture->samples = static_cast<guint8 *> (g_try_malloc_n (picture->row_bytes, picture->height));
  if (picture->samples == nullptr)
    return "no memory for it";
  if (picture->bits == 8)
    copy_rows<guint8> (decoded, picture);
  else
    copy_rows<guint16> (decoded, picture);
  return nullptr;
}

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

const char *
decode (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture) noexcept
{
  if (n_bytes > INT_MAX)
    return "the file is too large";
  try
  {
    const Silence silence;
    cv::utils::logging::setLogLevel (cv::utils::logging::LOG_LEVEL_SILENT);
    const cv::Mat input (1, static_cast<int> (n_bytes), CV_8UC1, const_cast<guint8 *> (bytes));
    const int flags = cv::IMREAD_ANYDEPTH | cv::IMREAD_ANYCOLOR | cv::IMREAD_IGNORE_ORIENTATION;
    return fill (cv::imdecode (input, flags), picture);
  }
  catch (...)
  {
    return "it can't be decoded";
  }
}

} // namespace

extern "C" __attribute__ ((visibility ("default"))) const WsVisionModule ws_vision_module;
const WsVisionModule ws_vision_module = { decode };
