-- Whatever changed is told by the table itself, so that no use case can forget to.
CREATE FUNCTION tell_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO changes (what, subject_id) VALUES (TG_ARGV[0], (to_jsonb(NEW) ->> TG_ARGV[1])::bigint);
  -- Only a hint to look, so that however much a transaction changed it is sent once.
  PERFORM pg_notify('changes', '');
  RETURN NULL;
END
$$;
--> statement-breakpoint
CREATE TRIGGER bucket_events_tell AFTER INSERT ON "bucket_events" FOR EACH ROW EXECUTE FUNCTION tell_change('bucket', 'bucket_id');
--> statement-breakpoint
CREATE TRIGGER buckets_tell AFTER INSERT OR UPDATE ON "buckets" FOR EACH ROW EXECUTE FUNCTION tell_change('bucket', 'id');
--> statement-breakpoint
CREATE TRIGGER loads_tell AFTER INSERT OR UPDATE ON "loads" FOR EACH ROW EXECUTE FUNCTION tell_change('load', 'id');
--> statement-breakpoint
CREATE TRIGGER kilns_tell AFTER INSERT OR UPDATE ON "kilns" FOR EACH ROW EXECUTE FUNCTION tell_change('kiln', 'id');
--> statement-breakpoint
CREATE TRIGGER kiln_care_tell AFTER INSERT ON "kiln_care" FOR EACH ROW EXECUTE FUNCTION tell_change('kiln', 'kiln_id');
--> statement-breakpoint
CREATE TRIGGER pieces_tell AFTER INSERT OR UPDATE ON "pieces" FOR EACH ROW EXECUTE FUNCTION tell_change('piece', 'id');
--> statement-breakpoint
CREATE TRIGGER messages_tell AFTER INSERT OR UPDATE ON "messages" FOR EACH ROW EXECUTE FUNCTION tell_change('person', 'person_id');
--> statement-breakpoint
CREATE TRIGGER notice_versions_tell AFTER INSERT ON "notice_versions" FOR EACH ROW EXECUTE FUNCTION tell_change('notice', 'notice_id');
--> statement-breakpoint
CREATE TRIGGER notice_reads_tell AFTER INSERT ON "notice_reads" FOR EACH ROW EXECUTE FUNCTION tell_change('notice', 'notice_id');
--> statement-breakpoint
CREATE TRIGGER duties_tell AFTER INSERT OR UPDATE ON "duties" FOR EACH ROW EXECUTE FUNCTION tell_change('duty', 'id');
--> statement-breakpoint
CREATE TRIGGER safety_entries_tell AFTER INSERT ON "safety_entries" FOR EACH ROW EXECUTE FUNCTION tell_change('entry', 'number');
