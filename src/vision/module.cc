#include "vision/module.h"

#include <climits>
#include <cmath>
#include <cstring>
#include <vector>

#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>
#include <opencv2/core/utils/logger.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

using namespace wsi_vision;

namespace
{

/* Copies the rows into memory of GLib, OpenCV's blue-green-red turned round. */
void
copy_rows (const cv::Mat &from, WsVisionPicture *picture)
{
  for (int y = 0; y < from.rows; y++)
  {
    const guint8 *source = from.ptr<guint8> (y);
    guint8 *target = picture->samples + static_cast<gsize> (y) * picture->row_bytes;
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
  if (decoded.depth () != CV_8U)
    return "not 8 bits a sample";

  picture->width = static_cast<guint> (decoded.cols);
  picture->height = static_cast<guint> (decoded.rows);
  picture->channels = static_cast<guint> (decoded.channels ());
  picture->row_bytes = decoded.elemSize () * picture->width;
  picture->samples = static_cast<guint8 *> (g_try_malloc_n (picture->row_bytes, picture->height));
  if (picture->samples == nullptr)
    return "no memory for it";
  copy_rows (decoded, picture);
  return nullptr;
}

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
    return fill (cv::imdecode (input, cv::IMREAD_ANYCOLOR), picture);
  }
  catch (...)
  {
    return "it can't be decoded";
  }
}

/* ---- Chessboards ------------------------------------------------------------------ */

using Corners = std::vector<cv::Point2f>;

/* Boards are looked for in pictures made at most this large, px: quick, and no worse since
 * corners are refined in the whole picture.  Own trials on rendered pictures. */
constexpr int MAX_SEARCH_SIDE = 1000;

/* The smallest part of a board that is told from chance.  Own choice. */
constexpr int LEAST_SIDE = 3;

/* Step at which a corner is at rest, px. */
constexpr double AT_REST = 1e-4;
constexpr int MAX_STEPS = 100;

constexpr double FULL_SCALE = 65535.0;

/* As much as one thread does is quick enough; a pool of them would live on until the end, out of
 * our control. */
void
use_one_thread ()
{
  cv::setNumThreads (1);
}

/* No pixel is copied or written to. */
cv::Mat
matrix_of (const WsVisionLight *light)
{
  return cv::Mat (static_cast<int> (light->height), static_cast<int> (light->width), CV_16UC1,
                  const_cast<guint16 *> (light->linear));
}

/* Codes that are even to the eye, since both finders set their thresholds for such. */
cv::Mat
codes_of (const cv::Mat &light)
{
  cv::Mat codes;
  light.convertTo (codes, CV_32F, 1 / FULL_SCALE);
  cv::pow (codes, 1 / 2.2, codes);
  codes.convertTo (codes, CV_8U, 255);
  return codes;
}

/* The smallest whole factor that makes the picture small enough to search. */
int
reduction_of (const cv::Mat &picture)
{
  const int side = std::max (picture.cols, picture.rows);
  return (side + MAX_SEARCH_SIDE - 1) / MAX_SEARCH_SIDE;
}

cv::Mat
reduce (const cv::Mat &light, int factor)
{
  cv::Mat small;
  if (factor == 1)
    return light;
  cv::resize (light, small, cv::Size (light.cols / factor, light.rows / factor), 0, 0,
              cv::INTER_AREA);
  return small;
}

/* What is seen of a board; of the board asked for, turned as it was asked for. */
void
find_part (const cv::Mat &codes, const cv::Size &wanted, Corners &corners, cv::Size &seen)
{
  cv::Mat meta;
  if (!cv::findChessboardCornersSB (codes, cv::Size (LEAST_SIDE, LEAST_SIDE), corners,
                                    cv::CALIB_CB_LARGER | cv::CALIB_CB_EXHAUSTIVE, meta))
  {
    corners.clear ();
    seen = cv::Size ();
    return;
  }
  seen = meta.size ();
  if (seen == wanted || seen.width != wanted.height || seen.height != wanted.width)
    return;
  Corners turned;
  for (int y = 0; y < wanted.height; y++)
    for (int x = 0; x < wanted.width; x++)
      turned.push_back (corners[static_cast<size_t> (x * seen.width + y)]);
  corners = turned;
  seen = wanted;
}

const char *
hand_over (const Corners &corners, const cv::Size &seen, int factor, WsVisionBoard *board)
{
  if (corners.empty () || corners.size () != static_cast<size_t> (seen.area ()))
    return nullptr;
  board->corners = static_cast<double *> (g_try_malloc_n (2 * corners.size (), sizeof (double)));
  if (board->corners == nullptr)
    return "no memory for a board's corners";
  board->columns = static_cast<guint> (seen.width);
  board->rows = static_cast<guint> (seen.height);
  for (size_t i = 0; i < corners.size (); i++)
  {
    board->corners[2 * i] = (static_cast<double> (corners[i].x) + 0.5) * factor - 0.5;
    board->corners[2 * i + 1] = (static_cast<double> (corners[i].y) + 0.5) * factor - 0.5;
  }
  return nullptr;
}

/* Whether so much of the board is seen that the rest can't be: the long search is spared then. */
bool
is_most_of (const Corners &part, const cv::Size &wanted)
{
  return 2 * part.size () >= static_cast<size_t> (wanted.area ());
}

/* The old finder is the surer in cluttered photographs, and quick where it succeeds; in vain it
 * searches for long, least so without evening out the light.  The new one tells what part of a
 * board is seen. */
void
find_in (const cv::Mat &codes, const cv::Size &wanted, Corners &corners, cv::Size &seen)
{
  const int quick = cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_FAST_CHECK;
  seen = wanted;
  if (cv::findChessboardCorners (codes, wanted, corners, quick))
    return;
  Corners part;
  find_part (codes, wanted, part, seen);
  if (seen != wanted && !is_most_of (part, wanted) &&
      cv::findChessboardCorners (codes, wanted, corners, quick | cv::CALIB_CB_NORMALIZE_IMAGE))
    seen = wanted;
  else
    corners = part;
}

const char *
find_board (const WsVisionLight *light, guint columns, guint rows, WsVisionBoard *board) noexcept
{
  try
  {
    use_one_thread ();
    const Silence silence;
    const cv::Mat whole = matrix_of (light);
    const int factor = reduction_of (whole);
    const cv::Mat codes = codes_of (reduce (whole, factor));
    cv::Size seen;
    Corners corners;
    find_in (codes, cv::Size (static_cast<int> (columns), static_cast<int> (rows)), corners, seen);
    return hand_over (corners, seen, factor, board);
  }
  catch (...)
  {
    return "OpenCV failed to look for a chessboard";
  }
}

/* On a cut-out, so that only as much is turned into floats as is looked at. */
const char *
refine_corner (const WsVisionLight *light, guint half_width, double corner[2]) noexcept
{
  try
  {
    use_one_thread ();
    const cv::Mat whole = matrix_of (light);
    const int half = static_cast<int> (half_width), reach = 2 * half + 2;
    const cv::Rect around (static_cast<int> (corner[0]) - reach,
                           static_cast<int> (corner[1]) - reach, 2 * reach + 1, 2 * reach + 1);
    const cv::Rect cut = around & cv::Rect (0, 0, whole.cols, whole.rows);
    cv::Mat part;
    whole (cut).convertTo (part, CV_32F, 1 / FULL_SCALE);
    Corners one = { cv::Point2f (static_cast<float> (corner[0] - cut.x),
                                 static_cast<float> (corner[1] - cut.y)) };
    cv::cornerSubPix (
      part, one, cv::Size (half, half), cv::Size (-1, -1),
      cv::TermCriteria (cv::TermCriteria::COUNT | cv::TermCriteria::EPS, MAX_STEPS, AT_REST));
    corner[0] = static_cast<double> (one[0].x) + cut.x;
    corner[1] = static_cast<double> (one[0].y) + cut.y;
    return nullptr;
  }
  catch (...)
  {
    return "OpenCV failed to refine a chessboard's corner";
  }
}

const char *
edge_widths (const WsVisionLight *light, const WsVisionBoard *board, double widths[2]) noexcept
{
  const float rise = 0.8F;
  try
  {
    use_one_thread ();
    const Silence silence;
    cv::Mat bytes;
    matrix_of (light).convertTo (bytes, CV_8U, 255 / FULL_SCALE);
    Corners corners;
    for (size_t i = 0; i < static_cast<size_t> (board->columns) * board->rows; i++)
      corners.emplace_back (static_cast<float> (board->corners[2 * i]),
                            static_cast<float> (board->corners[2 * i + 1]));
    const cv::Size size (static_cast<int> (board->columns), static_cast<int> (board->rows));
    widths[0] = cv::estimateChessboardSharpness (bytes, size, corners, rise, false)[0];
    widths[1] = cv::estimateChessboardSharpness (bytes, size, corners, rise, true)[0];
  }
  catch (...)
  {
    widths[0] = widths[1] = std::nan ("");
  }
  return nullptr;
}

/* ---- Calibration ------------------------------------------------------------------- */

const char *
calibrate (const WsVisionViews *views, double camera[6], double *poses) noexcept
{
  try
  {
    use_one_thread ();
    const Silence silence;
    std::vector<cv::Point3f> board;
    for (size_t i = 0; i < views->n_points; i++)
      board.emplace_back (static_cast<float> (views->board[2 * i]),
                          static_cast<float> (views->board[2 * i + 1]), 0.0F);
    std::vector<Corners> points (views->n_views);
    const double *from = views->points;
    for (Corners &view : points)
      for (size_t i = 0; i < views->n_points; i++, from += 2)
        view.emplace_back (static_cast<float> (from[0]), static_cast<float> (from[1]));

    const std::vector<std::vector<cv::Point3f>> boards (views->n_views, board);
    const cv::Size size (static_cast<int> (views->width), static_cast<int> (views->height));
    cv::Mat matrix, distortion;
    std::vector<cv::Mat> turns, shifts;
    cv::calibrateCamera (boards, points, size, matrix, distortion, turns, shifts,
                         cv::CALIB_FIX_K3 | cv::CALIB_ZERO_TANGENT_DIST);

    const double found[6] = { matrix.at<double> (0, 0),  matrix.at<double> (1, 1),
                              matrix.at<double> (0, 2),  matrix.at<double> (1, 2),
                              distortion.at<double> (0), distortion.at<double> (1) };
    std::memcpy (camera, found, sizeof found);
    for (size_t v = 0; v < views->n_views; v++)
      for (int i = 0; i < 3; i++)
      {
        poses[6 * v + static_cast<size_t> (i)] = turns[v].at<double> (i);
        poses[6 * v + 3 + static_cast<size_t> (i)] = shifts[v].at<double> (i);
      }
    return nullptr;
  }
  catch (...)
  {
    return "no camera fits these views of the board";
  }
}

} // namespace

extern "C" __attribute__ ((visibility ("default"))) const WsVisionModule ws_vision_module;
const WsVisionModule ws_vision_module = { decode,    find_board, refine_corner, edge_widths,
                                          calibrate, open_video, read_video,    close_video };
