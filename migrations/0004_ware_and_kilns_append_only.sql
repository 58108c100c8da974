-- Ledgers of pieces, kilns and loads are append-only, as those of the buckets are.
CREATE TRIGGER piece_events_append_only BEFORE UPDATE OR DELETE ON "piece_events" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER piece_events_not_emptied BEFORE TRUNCATE ON "piece_events" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER piece_outcomes_append_only BEFORE UPDATE OR DELETE ON "piece_outcomes" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER piece_outcomes_not_emptied BEFORE TRUNCATE ON "piece_outcomes" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER kiln_care_append_only BEFORE UPDATE OR DELETE ON "kiln_care" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER kiln_care_not_emptied BEFORE TRUNCATE ON "kiln_care" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER load_events_append_only BEFORE UPDATE OR DELETE ON "load_events" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER load_events_not_emptied BEFORE TRUNCATE ON "load_events" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
