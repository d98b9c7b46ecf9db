#include "vision/module.h"

#include <memory>

#include <opencv2/core.hpp>
#include <opencv2/core/utils/logger.hpp>
#include <opencv2/videoio.hpp>

namespace
{

struct Video
{
  cv::VideoCapture capture;
  cv::Mat frame;
};

/* Readers of files.  Others would look for cameras on the bus, or ask the network. */
constexpr int READERS[] = { cv::CAP_FFMPEG, cv::CAP_OPENCV_MJPEG };

bool
open_by_any (cv::VideoCapture &capture, const char *path)
{
  for (const int reader : READERS)
    if (capture.open (path, reader))
      return true;
  return false;
}

} // namespace

namespace wsi_vision
{

const char *
open_video (const char *path, gpointer *video, double *rate) noexcept
{
  try
  {
    const Silence silence;
    cv::utils::logging::setLogLevel (cv::utils::logging::LOG_LEVEL_SILENT);
    auto opened = std::make_unique<Video> ();
    if (!open_by_any (opened->capture, path))
      return "not a video that can be read";
    *rate = opened->capture.get (cv::CAP_PROP_FPS);
    *video = opened.release ();
    return nullptr;
  }
  catch (...)
  {
    return "not a video that can be read";
  }
}

const char *
read_video (gpointer video, WsVisionFrame *frame) noexcept
{
  Video *self = static_cast<Video *> (video);
  *frame = {};
  try
  {
    const Silence silence;
    if (!self->capture.read (self->frame) || self->frame.empty ())
      return nullptr;
    const cv::Mat &seen = self->frame;
    if (seen.depth () != CV_8U || (seen.channels () != 1 && seen.channels () != 3))
      return "its pictures are neither grey nor colour of 8 bits";
    frame->samples = seen.ptr<guint8> ();
    frame->width = static_cast<guint> (seen.cols);
    frame->height = static_cast<guint> (seen.rows);
    frame->channels = static_cast<guint> (seen.channels ());
    frame->row_bytes = seen.step[0];
    return nullptr;
  }
  catch (...)
  {
    return "a picture of it can't be decoded";
  }
}

void
close_video (gpointer video) noexcept
{
  delete static_cast<Video *> (video);
}

} // namespace wsi_vision
