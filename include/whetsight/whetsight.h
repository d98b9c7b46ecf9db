/* Everything in libwhetsight. */
#ifndef WHETSIGHT_H
#define WHETSIGHT_H

#include <whetsight/archive.h>
#include <whetsight/backup.h>
#include <whetsight/batch.h>
#include <whetsight/bundle.h>
#include <whetsight/calibrate.h>
#include <whetsight/calibration.h>
#include <whetsight/card.h>
#include <whetsight/checks.h>
#include <whetsight/clear.h>
#include <whetsight/error.h>
#include <whetsight/exchange.h>
#include <whetsight/follow.h>
#include <whetsight/image.h>
#include <whetsight/job.h>
#include <whetsight/judge.h>
#include <whetsight/live.h>
#include <whetsight/master.h>
#include <whetsight/optics.h>
#include <whetsight/part.h>
#include <whetsight/pdf.h>
#include <whetsight/point.h>
#include <whetsight/remeasure.h>
#include <whetsight/report.h>
#include <whetsight/result.h>
#include <whetsight/retake.h>
#include <whetsight/seal.h>
#include <whetsight/set_out.h>
#include <whetsight/step.h>
#include <whetsight/study.h>
#include <whetsight/sync.h>
#include <whetsight/taken.h>
#include <whetsight/trend.h>
#include <whetsight/verify.h>
#include <whetsight/version.h>
#include <whetsight/view.h>

#endif
