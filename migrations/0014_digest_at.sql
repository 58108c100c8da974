ALTER TABLE "studio" ADD COLUMN "digest_at" smallint DEFAULT 450 NOT NULL;--> statement-breakpoint
ALTER TABLE "studio" ADD CONSTRAINT "studio_digest" CHECK ("studio"."digest_at" between 0 and 1439);