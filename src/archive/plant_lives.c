#include <math.h>
#include <string.h>

#include "archive/plant.h"
#include "archive/state.h"

/* Pictures of a tool within so much time are one look at it, until a view comes again. */
#define DAYS_OF_A_LOOK 1.0

/* Probability by chance that is taken for a difference, of all groups together. */
#define CHANCE 0.05

/* ---- What was seen of a tool ----------------------------------------------------------------- */

typedef struct
{
  double day;
  char *time, *view, *name; /* of the group that an edge which begins here belongs to, or NULL */
  gboolean reground, rejected, wrong;
} Look;

static void
look_clear (gpointer data)
{
  Look *look = data;
  g_free (look->time);
  g_free (look->view);
  g_free (look->name);
}

typedef struct
{
  WsPlantLives *lives;
  WsPlantBy by;
  GHashTable *tools; /* id -> GArray of Look */
} Gathering;

static const char *
name_of (const WsInspection *inspection, WsPlantBy by)
{
  return by == WS_PLANT_BY_GRINDER   ? inspection->grinder
         : by == WS_PLANT_BY_STATION ? inspection->station
                                     : inspection->kind;
}

static gboolean
gather (const WsInspection *inspection, gpointer data, GError **error)
{
  Gathering *gathering = data;
  (void)error;
  if (inspection->wrong != NULL)
    wsi_plant_left_wrong (&gathering->lives->left, inspection);
  if (inspection->tool == NULL || wsi_is_of_work (inspection->view))
    return TRUE;
  const WsVerdict verdict = wsi_archive_verdict (inspection->verdict);
  if (verdict == WS_VERDICT_RETAKE && inspection->wrong == NULL && !inspection->reground)
  {
    gathering->lives->left.n_retakes++;
    return TRUE;
  }
  GArray *looks = g_hash_table_lookup (gathering->tools, inspection->tool);
  if (looks == NULL)
  {
    looks = g_array_new (FALSE, FALSE, sizeof (Look));
    g_array_set_clear_func (looks, look_clear);
    g_hash_table_insert (gathering->tools, g_strdup (inspection->tool), looks);
  }
  const Look look = { .day = wsi_plant_day (inspection->time),
                      .time = g_strdup (inspection->time),
                      .view = g_strdup (inspection->view),
                      .name = g_strdup (name_of (inspection, gathering->by)),
                      .reground = inspection->reground,
                      .rejected = verdict == WS_VERDICT_REJECT,
                      .wrong = inspection->wrong != NULL };
  g_array_append_val (looks, look);
  return TRUE;
}

/* Records that were imported may have been taken before those that were here already. */
static gint
by_time (gconstpointer a, gconstpointer b)
{
  return strcmp (((const Look *)a)->time, ((const Look *)b)->time);
}

/* ---- Edges ----------------------------------------------------------------------------------- */

/* One edge from its regrind on. */
typedef struct
{
  const Look *first, *last; /* NULL: not begun */
  GHashTable *views;        /* of this look at it */
  double look_began;
  guint n_looks;
  gboolean ended, ended_at_once, doubted, unseen;
} Edge;

static WsPlantGroup *
group_of (WsPlantLives *lives, const char *name)
{
  for (guint i = 0; i < lives->groups->len; i++)
  {
    WsPlantGroup *group = g_ptr_array_index (lives->groups, i);
    if (g_str_equal (group->name, name))
      return group;
  }
  WsPlantGroup *group = g_new0 (WsPlantGroup, 1);
  group->name = g_strdup (name);
  group->lives = g_array_new (FALSE, FALSE, sizeof (WsLife));
  group->inspections = g_array_new (FALSE, FALSE, sizeof (WsLife));
  group->probability = group->expected = NAN;
  g_ptr_array_add (lives->groups, group);
  return group;
}

static void
group_free (gpointer data)
{
  WsPlantGroup *group = data;
  wsi_survival_clear (&group->by_days);
  wsi_survival_clear (&group->by_inspections);
  g_array_unref (group->lives);
  g_array_unref (group->inspections);
  g_free (group->name);
  g_free (group);
}

static void
short_free (gpointer data)
{
  WsPlantShort *of = data;
  g_free (of->tool);
  g_free (of->from);
  g_free (of->name);
  g_free (of);
}

static void
add_short (WsPlantLives *lives, const char *tool, const Edge *edge, double days)
{
  WsPlantShort *of = g_new (WsPlantShort, 1);
  *of = (WsPlantShort){ g_strdup (tool), g_strdup (edge->first->time), g_strdup (edge->first->name),
                        days };
  g_ptr_array_add (lives->shortest, of);
}

/* The edge as it is known when the next one begins, or nothing follows. */
static void
close_edge (WsPlantLives *lives, const char *tool, const Edge *edge)
{
  lives->n_doubted += edge->doubted ? 1 : 0;
  if (edge->doubted)
    return;
  lives->n_begun_unseen += edge->unseen ? 1 : 0;
  if (edge->first == NULL)
    return;
  if (edge->first->name == NULL)
  {
    lives->left.n_nameless++;
    return;
  }
  WsPlantGroup *group = group_of (lives, edge->first->name);
  group->n_as_ground += edge->ended_at_once ? 1 : 0;
  if (edge->ended_at_once)
    return;
  const WsLife days = { edge->last->day - edge->first->day, edge->ended };
  const WsLife looks = { edge->n_looks, edge->ended };
  g_array_append_val (group->lives, days);
  g_array_append_val (group->inspections, looks);
  if (edge->ended)
    add_short (lives, tool, edge, days.length);
}

static void
begin_look (Edge *edge, const Look *look)
{
  g_hash_table_remove_all (edge->views);
  edge->look_began = look->day;
  edge->n_looks++;
}

static gboolean
is_same_look (const Edge *edge, const Look *look)
{
  return edge->first != NULL && look->day - edge->look_began <= DAYS_OF_A_LOOK &&
         !g_hash_table_contains (edge->views, look->view);
}

static void
begin_edge (Edge *edge, const Look *look)
{
  GHashTable *views = edge->views;
  *edge = (Edge){ .first = look, .last = look, .views = views };
  begin_look (edge, look);
}

/* All views of an edge may say that it was reground, each the first time it shows it. */
static gboolean
is_new_edge (const Edge *edge, const Look *look)
{
  return look->reground &&
         (edge->first == NULL || edge->ended || edge->n_looks > 1 || !is_same_look (edge, look));
}

static void
follow (WsPlantLives *lives, const char *tool, const GArray *looks)
{
  Edge edge = { .views = g_hash_table_new (g_str_hash, g_str_equal) };
  for (guint i = 0; i < looks->len; i++)
  {
    const Look *look = &g_array_index (looks, Look, i);
    if (look->wrong) /* it may have been a regrind, or a reject */
    {
      edge.first = NULL;
      edge.doubted = TRUE;
      continue;
    }
    if (is_new_edge (&edge, look))
    {
      close_edge (lives, tool, &edge);
      begin_edge (&edge, look);
    }
    else if (edge.first == NULL)
      edge.unseen = TRUE;
    if (edge.first == NULL || edge.ended)
      continue;
    if (!is_same_look (&edge, look) && look != edge.first)
      begin_look (&edge, look);
    g_hash_table_add (edge.views, look->view);
    edge.last = look;
    edge.ended = look->rejected;
    edge.ended_at_once = look->rejected && edge.n_looks == 1;
  }
  close_edge (lives, tool, &edge);
  g_hash_table_unref (edge.views);
}

/* ---- What comes of them ---------------------------------------------------------------------- */

static const WsLife *
lives_in (const GArray *lives)
{
  return (const WsLife *)(void *)lives->data;
}

static void
compare (WsPlantLives *all, WsPlantGroup *group)
{
  g_autoptr (GArray) others = g_array_new (FALSE, FALSE, sizeof (WsLife));
  for (guint i = 0; i < all->groups->len; i++)
  {
    const WsPlantGroup *other = g_ptr_array_index (all->groups, i);
    if (other != group && other->lives->len > 0)
      g_array_append_vals (others, other->lives->data, other->lives->len);
  }
  wsi_survival_find (lives_in (group->lives), group->lives->len, &group->by_days);
  wsi_survival_find (lives_in (group->inspections), group->inspections->len,
                     &group->by_inspections);
  group->probability =
    wsi_survival_compare (lives_in (group->lives), group->lives->len, lives_in (others),
                          others->len, &group->expected, NULL);
}

static guint
ended_beside (const WsPlantLives *lives, const WsPlantGroup *group)
{
  guint n = 0;
  for (guint i = 0; i < lives->groups->len; i++)
  {
    const WsPlantGroup *other = g_ptr_array_index (lives->groups, i);
    n += other != group ? other->by_days.n_ended : 0;
  }
  return n;
}

gboolean
wsi_plant_ends_early (const WsPlantLives *lives, const WsPlantGroup *group)
{
  return group->by_days.n_ended >= WS_PLANT_LEAST_ENDED &&
         ended_beside (lives, group) >= WS_PLANT_LEAST_ENDED &&
         group->by_days.n_ended > group->expected &&
         group->probability < CHANCE / lives->groups->len;
}

static gint
by_name (gconstpointer a, gconstpointer b)
{
  const WsPlantGroup *const *p = a, *const *q = b;
  return strcmp ((*p)->name, (*q)->name);
}

static gint
by_days (gconstpointer a, gconstpointer b)
{
  const WsPlantShort *const *p = a, *const *q = b;
  if ((*p)->days != (*q)->days)
    return (*p)->days < (*q)->days ? -1 : 1;
  return strcmp ((*p)->tool, (*q)->tool);
}

WsPlantLives *
wsi_plant_lives (WsArchive *archive, const WsArchiveFilter *filter, WsPlantBy by, GError **error)
{
  GHashTableIter iter;
  gpointer tool, looks;
  g_autoptr (WsPlantLives) lives = g_new0 (WsPlantLives, 1);
  g_autoptr (GHashTable) tools =
    g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_array_unref);
  Gathering gathering = { lives, by, tools };
  lives->groups = g_ptr_array_new_with_free_func (group_free);
  lives->shortest = g_ptr_array_new_with_free_func (short_free);
  wsi_plant_left_init (&lives->left);
  if (!ws_archive_each (archive, filter, TRUE, gather, &gathering, error))
    return NULL;
  g_hash_table_iter_init (&iter, tools);
  while (g_hash_table_iter_next (&iter, &tool, &looks))
  {
    g_array_sort (looks, by_time);
    follow (lives, tool, looks);
  }
  g_ptr_array_sort (lives->groups, by_name);
  g_ptr_array_sort (lives->shortest, by_days);
  for (guint i = 0; i < lives->groups->len; i++)
    compare (lives, g_ptr_array_index (lives->groups, i));
  return g_steal_pointer (&lives);
}

void
wsi_plant_lives_free (WsPlantLives *lives)
{
  if (lives == NULL)
    return;
  g_clear_pointer (&lives->groups, g_ptr_array_unref);
  g_clear_pointer (&lives->shortest, g_ptr_array_unref);
  wsi_plant_left_clear (&lives->left);
  g_free (lives);
}
