#include "archive/postgresql_tables.h"

/* Parts by month are told by the tables they are parts of, and so are what constraints make. */
const char wsi_postgresql_inventory[] =
  "SELECT 'function ' || proname, CASE WHEN prosecdef THEN 'as owner' ELSE '' END || prosrc"
  " FROM pg_proc WHERE pronamespace = 'whetsight'::regnamespace"
  " UNION ALL SELECT 'trigger ' || t.tgname, CASE t.tgenabled WHEN 'O' THEN '' ELSE 'off' END"
  " FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
  " WHERE c.relnamespace = 'whetsight'::regnamespace AND NOT t.tgisinternal"
  " UNION ALL SELECT 'policy ' || p.polname || ' on ' || c.relname, ''"
  " FROM pg_policy p JOIN pg_class c ON c.oid = p.polrelid"
  " WHERE c.relnamespace = 'whetsight'::regnamespace"
  " UNION ALL SELECT CASE c.relkind WHEN 'r' THEN 'table ' WHEN 'p' THEN 'table ' WHEN 'i' THEN"
  " 'index ' WHEN 'I' THEN 'index ' WHEN 'S' THEN 'sequence ' ELSE 'view ' END || c.relname,"
  " CASE WHEN c.relrowsecurity THEN 'guarded' ELSE '' END"
  " FROM pg_class c WHERE c.relnamespace = 'whetsight'::regnamespace AND NOT c.relispartition"
  " AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = c.oid AND d.refobjid <> c.oid AND"
  " d.deptype = 'i')"
  " AND NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = c.oid AND k.contype <> 'f')"
  " UNION ALL SELECT 'rule ' || r.rulename || ' on ' || c.relname, ''"
  " FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class"
  " WHERE c.relnamespace = 'whetsight'::regnamespace AND c.relkind <> 'v'";

/* What stands in `made` behind the key of each object, by the statements that make it. */
static void
note_matches (GHashTable *made, const char *pattern, const char *key, const char *definition)
{
  g_autoptr (GMatchInfo) match = NULL;
  g_autoptr (GRegex) regex = g_regex_new (pattern, G_REGEX_DOTALL, 0, NULL);
  for (g_regex_match (regex, wsi_postgresql_tables, 0, &match); g_match_info_matches (match);
       g_match_info_next (match, NULL))
  {
    g_autofree char *name = g_match_info_expand_references (match, key, NULL);
    char *lower = g_ascii_strdown (name, -1);
    g_hash_table_replace (made, lower, g_match_info_expand_references (match, definition, NULL));
  }
}

GHashTable *
wsi_postgresql_expected (void)
{
  GHashTable *made = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  note_matches (made, "\nCREATE (TABLE|SEQUENCE|INDEX|TRIGGER) (\\w+)", "\\1 \\2", "");
  note_matches (made, "CREATE POLICY (\\w+) ON (\\w+)", "policy \\1 on \\2", "");
  note_matches (made, "ALTER TABLE (\\w+) ENABLE ROW LEVEL", "table \\1", "guarded");
  note_matches (made, "CREATE FUNCTION (\\w+) \\([^$]*\\$\\$(.*?)\\$\\$;", "function \\1", "\\2");
  note_matches (made, "CREATE FUNCTION (\\w+) \\([^$]*SECURITY DEFINER[^$]*\\$\\$(.*?)\\$\\$;",
                "function \\1", "as owner\\2");
  return made;
}
