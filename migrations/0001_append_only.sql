-- Ledgers are append-only, for every role: a correction is a new row.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only: record a correction instead', TG_TABLE_NAME USING ERRCODE = 'restrict_violation';
END
$$;
--> statement-breakpoint
CREATE TRIGGER bucket_events_append_only BEFORE UPDATE OR DELETE ON "bucket_events" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER bucket_events_not_emptied BEFORE TRUNCATE ON "bucket_events" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER audit_append_only BEFORE UPDATE OR DELETE ON "audit" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER audit_not_emptied BEFORE TRUNCATE ON "audit" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
