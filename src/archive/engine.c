#include "archive/engine.h"

#include <string.h>

/* ---- The engine ------------------------------------------------------------------------------ */

void
wsi_engine_free (WsEngine *engine)
{
  if (engine == NULL)
    return;
  g_free (engine->name);
  g_free (engine->bench);
  g_free (engine->pictures);
  engine->calls->close (engine);
}

gboolean
wsi_engine_refuse (WsEngine *engine, GError **error)
{
  return engine->calls->refuse (engine, error);
}

/* SQLite's patterns have sets in brackets, too; LIKE has its own two characters. */
char *
wsi_engine_pattern (const WsEngine *engine, const char *pattern)
{
  GString *made = g_string_new (NULL);
  const gboolean globs = g_str_equal (engine->like, "GLOB");
  for (const char *c = pattern; *c != '\0'; c++)
    if (globs && *c == '[')
      g_string_append (made, "[[]");
    else if (globs)
      g_string_append_c (made, *c);
    else if (*c == '*' || *c == '?')
      g_string_append_c (made, *c == '*' ? '%' : '_');
    else
      g_string_append_printf (made, "%s%c", strchr ("%_\\", *c) != NULL ? "\\" : "", *c);
  return g_string_free (made, FALSE);
}

char *
wsi_engine_words (const WsEngine *engine, const char *sql)
{
  GString *words = g_string_new (NULL);
  gboolean inside = FALSE;
  for (const char *c = sql; *c != '\0'; c++)
    if (*c == '{' || *c == '}')
      inside = *c == '{';
    else if (!inside || engine->bench != NULL)
      g_string_append_c (words, *c);
  return g_string_free (words, FALSE);
}

/* ---- Its queries ----------------------------------------------------------------------------- */

WsQuery *
wsi_query_new (WsEngine *engine, const char *sql, WsQueryKind kind)
{
  g_autofree char *words = wsi_engine_words (engine, sql);
  return engine->calls->prepare (engine, words, kind);
}

void
wsi_query_free (WsQuery *query)
{
  if (query != NULL)
    query->engine->calls->free_query (query);
}

WsQueryStep
wsi_step (WsQuery *query)
{
  return query != NULL ? query->engine->calls->step (query) : WS_QUERY_FAILED;
}

void
wsi_reset (WsQuery *query)
{
  if (query != NULL)
    query->engine->calls->reset (query);
}

void
wsi_bind_text (WsQuery *query, int at, const char *text)
{
  if (query != NULL)
    query->engine->calls->bind_text (query, at, text);
}

void
wsi_bind_integer (WsQuery *query, int at, gint64 value)
{
  if (query != NULL)
    query->engine->calls->bind_integer (query, at, value);
}

void
wsi_bind_count (WsQuery *query, int at, guint64 count)
{
  wsi_bind_integer (query, at, (gint64)count);
}

void
wsi_bind_number (WsQuery *query, int at, double value)
{
  if (query != NULL)
    query->engine->calls->bind_number (query, at, value);
}

void
wsi_bind_bench (WsQuery *query, int at, const char *bench)
{
  if (query != NULL && query->engine->bench != NULL)
    wsi_bind_text (query, at, bench != NULL ? bench : query->engine->bench);
}

const char *
wsi_column_text (WsQuery *query, int column)
{
  return query->engine->calls->text (query, column);
}

const char *
wsi_column_text_or (WsQuery *query, int column, const char *otherwise)
{
  const char *text = wsi_column_text (query, column);
  return text != NULL ? text : otherwise;
}

gint64
wsi_column_integer (WsQuery *query, int column)
{
  return query->engine->calls->integer (query, column);
}

guint64
wsi_column_count (WsQuery *query, int column)
{
  return (guint64)wsi_column_integer (query, column);
}

double
wsi_column_number (WsQuery *query, int column)
{
  return query->engine->calls->number (query, column);
}
