-- The ledgers of materials and of safety are append-only, as those of the buckets are.
CREATE TRIGGER material_versions_append_only BEFORE UPDATE OR DELETE ON "material_versions" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER material_versions_not_emptied BEFORE TRUNCATE ON "material_versions" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER material_sheets_append_only BEFORE UPDATE OR DELETE ON "material_sheets" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER material_sheets_not_emptied BEFORE TRUNCATE ON "material_sheets" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER stock_events_append_only BEFORE UPDATE OR DELETE ON "stock_events" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER stock_events_not_emptied BEFORE TRUNCATE ON "stock_events" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER notice_versions_append_only BEFORE UPDATE OR DELETE ON "notice_versions" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER notice_versions_not_emptied BEFORE TRUNCATE ON "notice_versions" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER notice_reads_append_only BEFORE UPDATE OR DELETE ON "notice_reads" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER notice_reads_not_emptied BEFORE TRUNCATE ON "notice_reads" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER inductions_append_only BEFORE UPDATE OR DELETE ON "inductions" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER inductions_not_emptied BEFORE TRUNCATE ON "inductions" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER briefings_append_only BEFORE UPDATE OR DELETE ON "briefings" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER briefings_not_emptied BEFORE TRUNCATE ON "briefings" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER safety_entries_append_only BEFORE UPDATE OR DELETE ON "safety_entries" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER safety_entries_not_emptied BEFORE TRUNCATE ON "safety_entries" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER safety_photos_append_only BEFORE UPDATE OR DELETE ON "safety_photos" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER safety_photos_not_emptied BEFORE TRUNCATE ON "safety_photos" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER container_events_append_only BEFORE UPDATE OR DELETE ON "container_events" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER container_events_not_emptied BEFORE TRUNCATE ON "container_events" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER drain_permissions_append_only BEFORE UPDATE OR DELETE ON "drain_permissions" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER drain_permissions_not_emptied BEFORE TRUNCATE ON "drain_permissions" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER leach_tests_append_only BEFORE UPDATE OR DELETE ON "leach_tests" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER leach_tests_not_emptied BEFORE TRUNCATE ON "leach_tests" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
