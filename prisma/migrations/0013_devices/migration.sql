-- Browsers that are signed in to the pages.
ALTER TABLE "AccessKey" ADD COLUMN "isDevice" BOOLEAN NOT NULL DEFAULT false, ADD COLUMN "personId" UUID;
ALTER TABLE "AccessKey" ADD CONSTRAINT "AccessKey_shopId_personId_fkey" FOREIGN KEY ("shopId", "personId") REFERENCES "Person"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

CREATE TABLE "SignInLink" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "role" "Role" NOT NULL,
    "name" TEXT NOT NULL,
    "personId" UUID,
    "secretHash" BYTEA NOT NULL,
    "expiresAt" TIMESTAMPTZ(3) NOT NULL,
    "usedAt" TIMESTAMPTZ(3),
    "createdById" UUID,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "SignInLink_pkey" PRIMARY KEY ("id")
);
CREATE TABLE "DeviceAct" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "accessKeyId" UUID NOT NULL,
    "key" TEXT NOT NULL,
    "said" TEXT NOT NULL,
    "undo" JSONB,
    "target" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "DeviceAct_pkey" PRIMARY KEY ("id")
);
CREATE UNIQUE INDEX "SignInLink_shopId_id_key" ON "SignInLink"("shopId", "id");
CREATE UNIQUE INDEX "DeviceAct_shopId_id_key" ON "DeviceAct"("shopId", "id");
CREATE UNIQUE INDEX "DeviceAct_shopId_accessKeyId_key_key" ON "DeviceAct"("shopId", "accessKeyId", "key");
ALTER TABLE "SignInLink" ADD CONSTRAINT "SignInLink_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "SignInLink" ADD CONSTRAINT "SignInLink_shopId_personId_fkey" FOREIGN KEY ("shopId", "personId") REFERENCES "Person"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "DeviceAct" ADD CONSTRAINT "DeviceAct_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

ALTER TABLE "SignInLink" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "SignInLink" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());
ALTER TABLE "DeviceAct" ENABLE ROW LEVEL SECURITY;
CREATE POLICY own_shop ON "DeviceAct" USING ("shopId" = current_shop()) WITH CHECK ("shopId" = current_shop());

-- The look-up now also says whether a browser holds the key, and who works with it.
DROP FUNCTION find_access_key(text);
CREATE FUNCTION find_access_key(wanted text)
  RETURNS TABLE (id uuid, "shopId" uuid, role "Role", name text, "personId" uuid, "isDevice" boolean, "secretHash" bytea)
  LANGUAGE sql STABLE SECURITY DEFINER SET search_path FROM CURRENT AS
  $$ SELECT k.id, k."shopId", k.role, k.name, k."personId", k."isDevice", k."secretHash" FROM "AccessKey" k
     WHERE k."publicId" = wanted AND k."archivedAt" IS NULL $$;

-- A repeat is known by its key within the shop, whichever sign-in sends it again.
DROP INDEX "IdempotentReply_shopId_accessKeyId_key_key";
CREATE UNIQUE INDEX "IdempotentReply_shopId_key_key" ON "IdempotentReply"("shopId", "key");

-- As of every function with its owner's rights: a temporary table of the caller's is looked in last.
DO $$ BEGIN
  EXECUTE format('ALTER FUNCTION find_access_key(text) SET search_path = %I, pg_temp', current_schema());
END $$;
