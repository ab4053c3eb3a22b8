-- CreateEnum
CREATE TYPE "TaxScheme" AS ENUM ('none', 'salesTax', 'marginScheme');

-- CreateEnum
CREATE TYPE "UnitSystem" AS ENUM ('metric', 'imperial');

-- CreateEnum
CREATE TYPE "Role" AS ENUM ('owner', 'helper', 'reader');

-- CreateEnum
CREATE TYPE "PlaceKind" AS ENUM ('bench', 'sprayArea', 'cureRack');

-- CreateEnum
CREATE TYPE "Shelter" AS ENUM ('outdoors', 'unheated', 'heated');

-- CreateEnum
CREATE TYPE "AcquisitionSource" AS ENUM ('classified', 'auction', 'donation', 'tradeIn', 'dealer', 'other');

-- CreateEnum
CREATE TYPE "SplitMethod" AS ENUM ('byValue', 'equal', 'manual');

-- CreateEnum
CREATE TYPE "MachineKind" AS ENUM ('singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other');

-- CreateEnum
CREATE TYPE "Disposition" AS ENUM ('sell', 'keep', 'donor', 'scrap');

-- CreateEnum
CREATE TYPE "JobOutcome" AS ENUM ('sold', 'kept', 'partedOut', 'scrapped');

-- CreateEnum
CREATE TYPE "Verdict" AS ENUM ('serveOn', 'repair', 'replace', 'remove');

-- CreateEnum
CREATE TYPE "TaskKind" AS ENUM ('diagnose', 'strip', 'clean', 'straighten', 'derust', 'prime', 'colour', 'clear', 'cure', 'assemble', 'service', 'test', 'repair', 'parts', 'offer');

-- CreateEnum
CREATE TYPE "InterchangeEvidence" AS ENUM ('seenFitted', 'supplierSays', 'measuredSame');

-- CreateEnum
CREATE TYPE "StockSource" AS ENUM ('bought', 'harvested', 'found');

-- CreateEnum
CREATE TYPE "MovementReason" AS ENUM ('received', 'harvested', 'used', 'counted', 'corrected', 'returned', 'discarded');

-- CreateEnum
CREATE TYPE "SpreadMethod" AS ENUM ('byValue', 'equal');

-- CreateEnum
CREATE TYPE "ReceiptCondition" AS ENUM ('good', 'wrong', 'damaged');

-- CreateEnum
CREATE TYPE "LedgerKind" AS ENUM ('part', 'consumable', 'selling', 'supplierRefund', 'saleProceeds', 'tax', 'other');

-- CreateEnum
CREATE TYPE "CoatRole" AS ENUM ('primer', 'colour', 'clear');

-- CreateEnum
CREATE TYPE "PriceKind" AS ENUM ('asking', 'sold');

-- CreateTable
CREATE TABLE "Shop" (
    "id" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "currency" CHAR(3) NOT NULL,
    "timeZone" TEXT NOT NULL,
    "latitude" DECIMAL(8,5) NOT NULL,
    "longitude" DECIMAL(8,5) NOT NULL,
    "unitSystem" "UnitSystem" NOT NULL DEFAULT 'metric',
    "hourlyValue" DECIMAL(16,4) NOT NULL,
    "spaceCostPerDay" DECIMAL(16,4) NOT NULL,
    "haulCostPerKilometre" DECIMAL(16,4) NOT NULL,
    "taxScheme" "TaxScheme" NOT NULL DEFAULT 'none',
    "taxRatePercent" DECIMAL(7,4) NOT NULL DEFAULT 0,
    "openingHours" JSONB NOT NULL,
    "snowThresholdMillimetres" DECIMAL(6,1) NOT NULL DEFAULT 25,
    "readinessMarginDays" INTEGER NOT NULL DEFAULT 14,
    "seasonEndMonthDay" TEXT NOT NULL DEFAULT '03-15',
    "assemblyWaitDays" INTEGER NOT NULL DEFAULT 14,
    "lastJobNumber" INTEGER NOT NULL DEFAULT 0,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Shop_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "AccessKey" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "role" "Role" NOT NULL,
    "publicId" TEXT NOT NULL,
    "secretHash" BYTEA NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "AccessKey_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "IdempotentReply" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "accessKeyId" UUID NOT NULL,
    "key" TEXT NOT NULL,
    "operation" TEXT NOT NULL,
    "fingerprint" TEXT NOT NULL,
    "status" INTEGER NOT NULL,
    "reply" JSONB NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "IdempotentReply_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "AuditEntry" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "accessKeyId" UUID,
    "operation" TEXT NOT NULL,
    "subjectId" UUID,
    "detail" JSONB,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "AuditEntry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Person" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "weeklyHours" JSONB NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Person_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "DayOff" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "personId" UUID,
    "startDate" DATE NOT NULL,
    "endDate" DATE NOT NULL,
    "reason" TEXT,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "DayOff_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Place" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "kind" "PlaceKind" NOT NULL,
    "capacity" INTEGER NOT NULL DEFAULT 1,
    "shelter" "Shelter" NOT NULL DEFAULT 'unheated',
    "heatedToCelsius" DECIMAL(4,1),
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Place_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Acquisition" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "source" "AcquisitionSource" NOT NULL,
    "acquiredDate" DATE NOT NULL,
    "seller" TEXT,
    "place" TEXT,
    "price" DECIMAL(16,4) NOT NULL,
    "haulKilometres" DECIMAL(9,2) NOT NULL DEFAULT 0,
    "haulCost" DECIMAL(16,4) NOT NULL,
    "sellerClaims" TEXT,
    "splitMethod" "SplitMethod" NOT NULL DEFAULT 'byValue',
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Acquisition_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Machine" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "acquisitionId" UUID,
    "kind" "MachineKind" NOT NULL,
    "maker" TEXT NOT NULL,
    "model" TEXT NOT NULL,
    "serial" TEXT,
    "yearEstimate" INTEGER,
    "engine" TEXT,
    "engineDisplacementCubicCentimetres" INTEGER,
    "clearingWidthMillimetres" INTEGER,
    "condition" INTEGER NOT NULL DEFAULT 2,
    "equipment" JSONB NOT NULL DEFAULT '[]',
    "disposition" "Disposition" NOT NULL DEFAULT 'sell',
    "valueAsFound" DECIMAL(16,4),
    "acquisitionShare" DECIMAL(16,4) NOT NULL,
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Machine_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Route" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "machineKind" "MachineKind" NOT NULL,
    "description" TEXT,
    "tasks" JSONB NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Route_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Job" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "machineId" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "title" TEXT NOT NULL,
    "openedDate" DATE NOT NULL,
    "promisedDate" DATE,
    "priority" INTEGER NOT NULL DEFAULT 0,
    "finishedDate" DATE,
    "closedDate" DATE,
    "outcome" "JobOutcome",
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Job_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Finding" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "machineId" UUID NOT NULL,
    "jobId" UUID,
    "component" TEXT NOT NULL,
    "observation" TEXT NOT NULL,
    "measuredValue" DECIMAL(14,4),
    "limitLow" DECIMAL(14,4),
    "limitHigh" DECIMAL(14,4),
    "unit" TEXT,
    "verdict" "Verdict" NOT NULL,
    "reason" TEXT,
    "foundDate" DATE NOT NULL,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Finding_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SafetyCheck" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "check" TEXT NOT NULL,
    "passed" BOOLEAN NOT NULL,
    "checkedDate" DATE NOT NULL,
    "checkedBy" TEXT NOT NULL,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "SafetyCheck_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Task" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "code" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "kind" "TaskKind" NOT NULL,
    "handsOnMinutes" INTEGER NOT NULL,
    "minMinutes" INTEGER NOT NULL,
    "maxMinutes" INTEGER NOT NULL,
    "people" INTEGER NOT NULL DEFAULT 1,
    "placeKind" "PlaceKind",
    "pausable" BOOLEAN NOT NULL DEFAULT true,
    "needsPaintWeather" BOOLEAN NOT NULL DEFAULT false,
    "cureMinutes" INTEGER NOT NULL DEFAULT 0,
    "cautions" TEXT[],
    "startedAt" TIMESTAMPTZ(3),
    "finishedAt" TIMESTAMPTZ(3),
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Task_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "TaskLink" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "predecessorId" UUID NOT NULL,
    "minWaitMinutes" INTEGER NOT NULL DEFAULT 0,
    "forbiddenIntervals" JSONB NOT NULL DEFAULT '[]',
    "reason" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "TaskLink_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LabourEntry" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "personId" UUID NOT NULL,
    "startedAt" TIMESTAMPTZ(3) NOT NULL,
    "endedAt" TIMESTAMPTZ(3),
    "note" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "LabourEntry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Supplier" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Supplier_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Part" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "family" TEXT NOT NULL,
    "makerNumbers" JSONB NOT NULL DEFAULT '[]',
    "fastener" TEXT,
    "designedToFail" BOOLEAN NOT NULL DEFAULT false,
    "fits" "MachineKind"[],
    "reorderPoint" DECIMAL(12,3),
    "supersededById" UUID,
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Part_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Interchange" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "servesForId" UUID NOT NULL,
    "bothWays" BOOLEAN NOT NULL DEFAULT false,
    "position" TEXT,
    "mounting" TEXT,
    "fromYear" INTEGER,
    "toYear" INTEGER,
    "conditions" TEXT,
    "evidence" "InterchangeEvidence" NOT NULL,
    "provenHere" BOOLEAN NOT NULL DEFAULT false,
    "refuted" BOOLEAN NOT NULL DEFAULT false,
    "confidence" INTEGER NOT NULL DEFAULT 3,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Interchange_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Harvest" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "machineId" UUID NOT NULL,
    "harvestedDate" DATE NOT NULL,
    "basisMoved" DECIMAL(16,4) NOT NULL,
    "notes" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Harvest_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Stock" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "bin" TEXT NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "unitCost" DECIMAL(16,4) NOT NULL,
    "condition" TEXT,
    "source" "StockSource" NOT NULL,
    "harvestId" UUID,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Stock_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "StockMovement" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "stockId" UUID NOT NULL,
    "change" DECIMAL(12,3) NOT NULL,
    "reason" "MovementReason" NOT NULL,
    "taskId" UUID,
    "movedDate" DATE NOT NULL,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "StockMovement_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Order" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "supplierId" UUID NOT NULL,
    "reference" TEXT,
    "orderedDate" DATE NOT NULL,
    "shippingCost" DECIMAL(16,4) NOT NULL,
    "taxCost" DECIMAL(16,4) NOT NULL,
    "spreadMethod" "SpreadMethod" NOT NULL DEFAULT 'byValue',
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Order_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "OrderLine" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "orderId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "quantityOrdered" DECIMAL(12,3) NOT NULL,
    "quantityReceived" DECIMAL(12,3) NOT NULL DEFAULT 0,
    "quantityCancelled" DECIMAL(12,3) NOT NULL DEFAULT 0,
    "unitPrice" DECIMAL(16,4) NOT NULL,
    "shippingShare" DECIMAL(16,4) NOT NULL,
    "taxShare" DECIMAL(16,4) NOT NULL,
    "cancelledDate" DATE,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "OrderLine_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Promise" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "orderLineId" UUID NOT NULL,
    "sequence" INTEGER NOT NULL,
    "statedDate" DATE NOT NULL,
    "promisedDate" DATE,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Promise_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Receipt" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "orderLineId" UUID NOT NULL,
    "receivedDate" DATE NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "condition" "ReceiptCondition" NOT NULL,
    "bin" TEXT,
    "stockId" UUID,
    "note" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Receipt_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PartReturn" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "receiptId" UUID NOT NULL,
    "returnedDate" DATE NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "supplierRefund" DECIMAL(16,4) NOT NULL,
    "replacementExpected" BOOLEAN NOT NULL DEFAULT true,
    "reason" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PartReturn_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PartNeed" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "taskId" UUID NOT NULL,
    "partId" UUID NOT NULL,
    "quantity" DECIMAL(12,3) NOT NULL,
    "orderLineId" UUID,
    "stockId" UUID,
    "usedDate" DATE,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PartNeed_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LedgerEntry" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "kind" "LedgerKind" NOT NULL,
    "amount" DECIMAL(16,4) NOT NULL,
    "occurredDate" DATE NOT NULL,
    "description" TEXT NOT NULL,
    "reversesId" UUID,
    "sourceId" UUID,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "LedgerEntry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CoatingProduct" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "family" TEXT NOT NULL,
    "role" "CoatRole" NOT NULL,
    "volumeSolidsPercent" DECIMAL(5,2) NOT NULL,
    "dryFilmMicrometres" DECIMAL(6,1) NOT NULL,
    "lossPercent" DECIMAL(5,2) NOT NULL DEFAULT 30,
    "minCelsius" DECIMAL(4,1) NOT NULL,
    "maxCelsius" DECIMAL(4,1) NOT NULL,
    "maxHumidityPercent" DECIMAL(4,1) NOT NULL DEFAULT 85,
    "dewPointMarginCelsius" DECIMAL(3,1) NOT NULL DEFAULT 3,
    "referenceCelsius" DECIMAL(4,1) NOT NULL DEFAULT 23,
    "touchMinutes" INTEGER NOT NULL,
    "handleMinutes" INTEGER NOT NULL,
    "assembleMinutes" INTEGER NOT NULL,
    "fullMinutes" INTEGER NOT NULL,
    "recoatMinutes" JSONB NOT NULL,
    "rateDoublingCelsius" DECIMAL(4,1) NOT NULL DEFAULT 10,
    "incompatibleFamilies" TEXT[],
    "containerLitres" DECIMAL(6,3) NOT NULL,
    "containerPrice" DECIMAL(16,4) NOT NULL,
    "isocyanate" BOOLEAN NOT NULL DEFAULT false,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CoatingProduct_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CoatingSystem" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "notes" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "CoatingSystem_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SystemCoat" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "systemId" UUID NOT NULL,
    "position" INTEGER NOT NULL,
    "productId" UUID NOT NULL,
    "dryFilmMicrometres" DECIMAL(6,1),
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "SystemCoat_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Coat" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "taskId" UUID,
    "productId" UUID NOT NULL,
    "placeId" UUID,
    "surface" TEXT NOT NULL,
    "coatNumber" INTEGER NOT NULL,
    "appliedAt" TIMESTAMPTZ(3) NOT NULL,
    "dryFilmMicrometres" DECIMAL(6,1),
    "airCelsius" DECIMAL(4,1),
    "humidityPercent" DECIMAL(4,1),
    "note" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Coat_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "TemperatureReading" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "placeId" UUID NOT NULL,
    "readAt" TIMESTAMPTZ(3) NOT NULL,
    "celsius" DECIMAL(4,1) NOT NULL,
    "humidityPercent" DECIMAL(4,1),
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "TemperatureReading_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Station" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "name" TEXT NOT NULL,
    "latitude" DECIMAL(8,5) NOT NULL,
    "longitude" DECIMAL(8,5) NOT NULL,
    "source" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Station_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "StationDay" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "stationId" UUID NOT NULL,
    "day" DATE NOT NULL,
    "highCelsius" DECIMAL(4,1),
    "lowCelsius" DECIMAL(4,1),
    "precipitationMillimetres" DECIMAL(6,1),
    "snowfallMillimetres" DECIMAL(6,1),
    "snowTrace" BOOLEAN NOT NULL DEFAULT false,
    "humidityPercent" DECIMAL(4,1),
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "StationDay_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "WeatherForecastDay" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "day" DATE NOT NULL,
    "highCelsius" DECIMAL(4,1) NOT NULL,
    "lowCelsius" DECIMAL(4,1) NOT NULL,
    "humidityPercent" DECIMAL(4,1),
    "precipitationMillimetres" DECIMAL(6,1),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "WeatherForecastDay_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Comparable" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "kind" "MachineKind" NOT NULL,
    "maker" TEXT NOT NULL,
    "model" TEXT,
    "yearEstimate" INTEGER,
    "clearingWidthMillimetres" INTEGER,
    "condition" INTEGER NOT NULL,
    "priceKind" "PriceKind" NOT NULL,
    "price" DECIMAL(16,4) NOT NULL,
    "seenDate" DATE NOT NULL,
    "place" TEXT,
    "distanceKilometres" DECIMAL(9,2),
    "note" TEXT,
    "archivedAt" TIMESTAMPTZ(3),
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Comparable_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Offer" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "askPrice" DECIMAL(16,4) NOT NULL,
    "floorPrice" DECIMAL(16,4),
    "offeredDate" DATE NOT NULL,
    "channel" TEXT,
    "withdrawnDate" DATE,
    "note" TEXT,
    "version" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Offer_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Sale" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "jobId" UUID NOT NULL,
    "soldDate" DATE NOT NULL,
    "price" DECIMAL(16,4) NOT NULL,
    "taxCollected" DECIMAL(16,4) NOT NULL,
    "sellingCost" DECIMAL(16,4) NOT NULL,
    "buyer" TEXT,
    "channel" TEXT,
    "note" TEXT,
    "reversedDate" DATE,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Sale_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Plan" (
    "id" UUID NOT NULL,
    "shopId" UUID NOT NULL,
    "computedAt" TIMESTAMPTZ(3) NOT NULL,
    "fingerprint" TEXT NOT NULL,
    "seed" INTEGER NOT NULL,
    "engineVersion" TEXT NOT NULL,
    "content" JSONB NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Plan_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "AccessKey_publicId_key" ON "AccessKey"("publicId");

-- CreateIndex
CREATE UNIQUE INDEX "AccessKey_shopId_id_key" ON "AccessKey"("shopId", "id");

-- CreateIndex
CREATE INDEX "IdempotentReply_createdAt_idx" ON "IdempotentReply"("createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "IdempotentReply_shopId_id_key" ON "IdempotentReply"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "IdempotentReply_shopId_accessKeyId_key_key" ON "IdempotentReply"("shopId", "accessKeyId", "key");

-- CreateIndex
CREATE INDEX "AuditEntry_shopId_subjectId_idx" ON "AuditEntry"("shopId", "subjectId");

-- CreateIndex
CREATE INDEX "AuditEntry_shopId_createdAt_idx" ON "AuditEntry"("shopId", "createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "AuditEntry_shopId_id_key" ON "AuditEntry"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Person_shopId_id_key" ON "Person"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Person_shopId_name_key" ON "Person"("shopId", "name");

-- CreateIndex
CREATE INDEX "DayOff_shopId_startDate_idx" ON "DayOff"("shopId", "startDate");

-- CreateIndex
CREATE UNIQUE INDEX "DayOff_shopId_id_key" ON "DayOff"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Place_shopId_id_key" ON "Place"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Place_shopId_name_key" ON "Place"("shopId", "name");

-- CreateIndex
CREATE INDEX "Acquisition_shopId_acquiredDate_idx" ON "Acquisition"("shopId", "acquiredDate");

-- CreateIndex
CREATE UNIQUE INDEX "Acquisition_shopId_id_key" ON "Acquisition"("shopId", "id");

-- CreateIndex
CREATE INDEX "Machine_shopId_disposition_idx" ON "Machine"("shopId", "disposition");

-- CreateIndex
CREATE INDEX "Machine_shopId_maker_model_idx" ON "Machine"("shopId", "maker", "model");

-- CreateIndex
CREATE UNIQUE INDEX "Machine_shopId_id_key" ON "Machine"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Route_shopId_id_key" ON "Route"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Route_shopId_name_key" ON "Route"("shopId", "name");

-- CreateIndex
CREATE INDEX "Job_shopId_closedDate_idx" ON "Job"("shopId", "closedDate");

-- CreateIndex
CREATE INDEX "Job_shopId_machineId_idx" ON "Job"("shopId", "machineId");

-- CreateIndex
CREATE UNIQUE INDEX "Job_shopId_id_key" ON "Job"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Job_shopId_number_key" ON "Job"("shopId", "number");

-- CreateIndex
CREATE INDEX "Finding_shopId_jobId_idx" ON "Finding"("shopId", "jobId");

-- CreateIndex
CREATE INDEX "Finding_shopId_machineId_idx" ON "Finding"("shopId", "machineId");

-- CreateIndex
CREATE UNIQUE INDEX "Finding_shopId_id_key" ON "Finding"("shopId", "id");

-- CreateIndex
CREATE INDEX "SafetyCheck_shopId_jobId_idx" ON "SafetyCheck"("shopId", "jobId");

-- CreateIndex
CREATE UNIQUE INDEX "SafetyCheck_shopId_id_key" ON "SafetyCheck"("shopId", "id");

-- CreateIndex
CREATE INDEX "Task_shopId_jobId_position_idx" ON "Task"("shopId", "jobId", "position");

-- CreateIndex
CREATE UNIQUE INDEX "Task_shopId_id_key" ON "Task"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Task_shopId_jobId_code_key" ON "Task"("shopId", "jobId", "code");

-- CreateIndex
CREATE INDEX "TaskLink_shopId_predecessorId_idx" ON "TaskLink"("shopId", "predecessorId");

-- CreateIndex
CREATE UNIQUE INDEX "TaskLink_shopId_id_key" ON "TaskLink"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "TaskLink_shopId_taskId_predecessorId_key" ON "TaskLink"("shopId", "taskId", "predecessorId");

-- CreateIndex
CREATE INDEX "LabourEntry_shopId_taskId_idx" ON "LabourEntry"("shopId", "taskId");

-- CreateIndex
CREATE INDEX "LabourEntry_shopId_personId_startedAt_idx" ON "LabourEntry"("shopId", "personId", "startedAt");

-- CreateIndex
CREATE UNIQUE INDEX "LabourEntry_shopId_id_key" ON "LabourEntry"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Supplier_shopId_id_key" ON "Supplier"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Supplier_shopId_name_key" ON "Supplier"("shopId", "name");

-- CreateIndex
CREATE INDEX "Part_shopId_family_idx" ON "Part"("shopId", "family");

-- CreateIndex
CREATE UNIQUE INDEX "Part_shopId_id_key" ON "Part"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Part_shopId_name_key" ON "Part"("shopId", "name");

-- CreateIndex
CREATE INDEX "Interchange_shopId_servesForId_idx" ON "Interchange"("shopId", "servesForId");

-- CreateIndex
CREATE INDEX "Interchange_shopId_partId_idx" ON "Interchange"("shopId", "partId");

-- CreateIndex
CREATE UNIQUE INDEX "Interchange_shopId_id_key" ON "Interchange"("shopId", "id");

-- CreateIndex
CREATE INDEX "Harvest_shopId_machineId_idx" ON "Harvest"("shopId", "machineId");

-- CreateIndex
CREATE UNIQUE INDEX "Harvest_shopId_id_key" ON "Harvest"("shopId", "id");

-- CreateIndex
CREATE INDEX "Stock_shopId_partId_idx" ON "Stock"("shopId", "partId");

-- CreateIndex
CREATE INDEX "Stock_shopId_bin_idx" ON "Stock"("shopId", "bin");

-- CreateIndex
CREATE UNIQUE INDEX "Stock_shopId_id_key" ON "Stock"("shopId", "id");

-- CreateIndex
CREATE INDEX "StockMovement_shopId_stockId_idx" ON "StockMovement"("shopId", "stockId");

-- CreateIndex
CREATE UNIQUE INDEX "StockMovement_shopId_id_key" ON "StockMovement"("shopId", "id");

-- CreateIndex
CREATE INDEX "Order_shopId_orderedDate_idx" ON "Order"("shopId", "orderedDate");

-- CreateIndex
CREATE INDEX "Order_shopId_supplierId_idx" ON "Order"("shopId", "supplierId");

-- CreateIndex
CREATE UNIQUE INDEX "Order_shopId_id_key" ON "Order"("shopId", "id");

-- CreateIndex
CREATE INDEX "OrderLine_shopId_orderId_idx" ON "OrderLine"("shopId", "orderId");

-- CreateIndex
CREATE INDEX "OrderLine_shopId_partId_idx" ON "OrderLine"("shopId", "partId");

-- CreateIndex
CREATE UNIQUE INDEX "OrderLine_shopId_id_key" ON "OrderLine"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Promise_shopId_id_key" ON "Promise"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Promise_shopId_orderLineId_sequence_key" ON "Promise"("shopId", "orderLineId", "sequence");

-- CreateIndex
CREATE INDEX "Receipt_shopId_orderLineId_idx" ON "Receipt"("shopId", "orderLineId");

-- CreateIndex
CREATE UNIQUE INDEX "Receipt_shopId_id_key" ON "Receipt"("shopId", "id");

-- CreateIndex
CREATE INDEX "PartReturn_shopId_receiptId_idx" ON "PartReturn"("shopId", "receiptId");

-- CreateIndex
CREATE UNIQUE INDEX "PartReturn_shopId_id_key" ON "PartReturn"("shopId", "id");

-- CreateIndex
CREATE INDEX "PartNeed_shopId_taskId_idx" ON "PartNeed"("shopId", "taskId");

-- CreateIndex
CREATE INDEX "PartNeed_shopId_orderLineId_idx" ON "PartNeed"("shopId", "orderLineId");

-- CreateIndex
CREATE INDEX "PartNeed_shopId_stockId_idx" ON "PartNeed"("shopId", "stockId");

-- CreateIndex
CREATE UNIQUE INDEX "PartNeed_shopId_id_key" ON "PartNeed"("shopId", "id");

-- CreateIndex
CREATE INDEX "LedgerEntry_shopId_jobId_idx" ON "LedgerEntry"("shopId", "jobId");

-- CreateIndex
CREATE INDEX "LedgerEntry_shopId_sourceId_idx" ON "LedgerEntry"("shopId", "sourceId");

-- CreateIndex
CREATE INDEX "LedgerEntry_shopId_occurredDate_idx" ON "LedgerEntry"("shopId", "occurredDate");

-- CreateIndex
CREATE UNIQUE INDEX "LedgerEntry_shopId_id_key" ON "LedgerEntry"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "LedgerEntry_shopId_reversesId_key" ON "LedgerEntry"("shopId", "reversesId");

-- CreateIndex
CREATE UNIQUE INDEX "CoatingProduct_shopId_id_key" ON "CoatingProduct"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "CoatingProduct_shopId_name_key" ON "CoatingProduct"("shopId", "name");

-- CreateIndex
CREATE UNIQUE INDEX "CoatingSystem_shopId_id_key" ON "CoatingSystem"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "CoatingSystem_shopId_name_key" ON "CoatingSystem"("shopId", "name");

-- CreateIndex
CREATE UNIQUE INDEX "SystemCoat_shopId_id_key" ON "SystemCoat"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "SystemCoat_shopId_systemId_position_key" ON "SystemCoat"("shopId", "systemId", "position");

-- CreateIndex
CREATE INDEX "Coat_shopId_jobId_idx" ON "Coat"("shopId", "jobId");

-- CreateIndex
CREATE UNIQUE INDEX "Coat_shopId_id_key" ON "Coat"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "TemperatureReading_shopId_id_key" ON "TemperatureReading"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "TemperatureReading_shopId_placeId_readAt_key" ON "TemperatureReading"("shopId", "placeId", "readAt");

-- CreateIndex
CREATE UNIQUE INDEX "Station_shopId_id_key" ON "Station"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Station_shopId_name_key" ON "Station"("shopId", "name");

-- CreateIndex
CREATE UNIQUE INDEX "StationDay_shopId_id_key" ON "StationDay"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "StationDay_shopId_stationId_day_key" ON "StationDay"("shopId", "stationId", "day");

-- CreateIndex
CREATE UNIQUE INDEX "WeatherForecastDay_shopId_id_key" ON "WeatherForecastDay"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "WeatherForecastDay_shopId_day_key" ON "WeatherForecastDay"("shopId", "day");

-- CreateIndex
CREATE INDEX "Comparable_shopId_kind_seenDate_idx" ON "Comparable"("shopId", "kind", "seenDate");

-- CreateIndex
CREATE UNIQUE INDEX "Comparable_shopId_id_key" ON "Comparable"("shopId", "id");

-- CreateIndex
CREATE INDEX "Offer_shopId_jobId_idx" ON "Offer"("shopId", "jobId");

-- CreateIndex
CREATE UNIQUE INDEX "Offer_shopId_id_key" ON "Offer"("shopId", "id");

-- CreateIndex
CREATE INDEX "Sale_shopId_jobId_idx" ON "Sale"("shopId", "jobId");

-- CreateIndex
CREATE UNIQUE INDEX "Sale_shopId_id_key" ON "Sale"("shopId", "id");

-- CreateIndex
CREATE INDEX "Plan_shopId_computedAt_idx" ON "Plan"("shopId", "computedAt");

-- CreateIndex
CREATE UNIQUE INDEX "Plan_shopId_id_key" ON "Plan"("shopId", "id");

-- CreateIndex
CREATE UNIQUE INDEX "Plan_shopId_fingerprint_key" ON "Plan"("shopId", "fingerprint");

-- AddForeignKey
ALTER TABLE "AccessKey" ADD CONSTRAINT "AccessKey_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "IdempotentReply" ADD CONSTRAINT "IdempotentReply_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "AuditEntry" ADD CONSTRAINT "AuditEntry_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Person" ADD CONSTRAINT "Person_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "DayOff" ADD CONSTRAINT "DayOff_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "DayOff" ADD CONSTRAINT "DayOff_shopId_personId_fkey" FOREIGN KEY ("shopId", "personId") REFERENCES "Person"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Place" ADD CONSTRAINT "Place_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Acquisition" ADD CONSTRAINT "Acquisition_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Machine" ADD CONSTRAINT "Machine_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Machine" ADD CONSTRAINT "Machine_shopId_acquisitionId_fkey" FOREIGN KEY ("shopId", "acquisitionId") REFERENCES "Acquisition"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Route" ADD CONSTRAINT "Route_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Job" ADD CONSTRAINT "Job_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Job" ADD CONSTRAINT "Job_shopId_machineId_fkey" FOREIGN KEY ("shopId", "machineId") REFERENCES "Machine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Finding" ADD CONSTRAINT "Finding_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Finding" ADD CONSTRAINT "Finding_shopId_machineId_fkey" FOREIGN KEY ("shopId", "machineId") REFERENCES "Machine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Finding" ADD CONSTRAINT "Finding_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SafetyCheck" ADD CONSTRAINT "SafetyCheck_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SafetyCheck" ADD CONSTRAINT "SafetyCheck_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Task" ADD CONSTRAINT "Task_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Task" ADD CONSTRAINT "Task_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TaskLink" ADD CONSTRAINT "TaskLink_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TaskLink" ADD CONSTRAINT "TaskLink_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TaskLink" ADD CONSTRAINT "TaskLink_shopId_predecessorId_fkey" FOREIGN KEY ("shopId", "predecessorId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LabourEntry" ADD CONSTRAINT "LabourEntry_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LabourEntry" ADD CONSTRAINT "LabourEntry_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LabourEntry" ADD CONSTRAINT "LabourEntry_shopId_personId_fkey" FOREIGN KEY ("shopId", "personId") REFERENCES "Person"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Supplier" ADD CONSTRAINT "Supplier_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Part" ADD CONSTRAINT "Part_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Part" ADD CONSTRAINT "Part_shopId_supersededById_fkey" FOREIGN KEY ("shopId", "supersededById") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Interchange" ADD CONSTRAINT "Interchange_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Interchange" ADD CONSTRAINT "Interchange_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Interchange" ADD CONSTRAINT "Interchange_shopId_servesForId_fkey" FOREIGN KEY ("shopId", "servesForId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Harvest" ADD CONSTRAINT "Harvest_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Harvest" ADD CONSTRAINT "Harvest_shopId_machineId_fkey" FOREIGN KEY ("shopId", "machineId") REFERENCES "Machine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Stock" ADD CONSTRAINT "Stock_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Stock" ADD CONSTRAINT "Stock_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Stock" ADD CONSTRAINT "Stock_shopId_harvestId_fkey" FOREIGN KEY ("shopId", "harvestId") REFERENCES "Harvest"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StockMovement" ADD CONSTRAINT "StockMovement_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StockMovement" ADD CONSTRAINT "StockMovement_shopId_stockId_fkey" FOREIGN KEY ("shopId", "stockId") REFERENCES "Stock"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StockMovement" ADD CONSTRAINT "StockMovement_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Order" ADD CONSTRAINT "Order_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Order" ADD CONSTRAINT "Order_shopId_supplierId_fkey" FOREIGN KEY ("shopId", "supplierId") REFERENCES "Supplier"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "OrderLine" ADD CONSTRAINT "OrderLine_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "OrderLine" ADD CONSTRAINT "OrderLine_shopId_orderId_fkey" FOREIGN KEY ("shopId", "orderId") REFERENCES "Order"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "OrderLine" ADD CONSTRAINT "OrderLine_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Promise" ADD CONSTRAINT "Promise_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Promise" ADD CONSTRAINT "Promise_shopId_orderLineId_fkey" FOREIGN KEY ("shopId", "orderLineId") REFERENCES "OrderLine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Receipt" ADD CONSTRAINT "Receipt_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Receipt" ADD CONSTRAINT "Receipt_shopId_orderLineId_fkey" FOREIGN KEY ("shopId", "orderLineId") REFERENCES "OrderLine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Receipt" ADD CONSTRAINT "Receipt_shopId_stockId_fkey" FOREIGN KEY ("shopId", "stockId") REFERENCES "Stock"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartReturn" ADD CONSTRAINT "PartReturn_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartReturn" ADD CONSTRAINT "PartReturn_shopId_receiptId_fkey" FOREIGN KEY ("shopId", "receiptId") REFERENCES "Receipt"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartNeed" ADD CONSTRAINT "PartNeed_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartNeed" ADD CONSTRAINT "PartNeed_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartNeed" ADD CONSTRAINT "PartNeed_shopId_partId_fkey" FOREIGN KEY ("shopId", "partId") REFERENCES "Part"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartNeed" ADD CONSTRAINT "PartNeed_shopId_orderLineId_fkey" FOREIGN KEY ("shopId", "orderLineId") REFERENCES "OrderLine"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PartNeed" ADD CONSTRAINT "PartNeed_shopId_stockId_fkey" FOREIGN KEY ("shopId", "stockId") REFERENCES "Stock"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LedgerEntry" ADD CONSTRAINT "LedgerEntry_shopId_reversesId_fkey" FOREIGN KEY ("shopId", "reversesId") REFERENCES "LedgerEntry"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CoatingProduct" ADD CONSTRAINT "CoatingProduct_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "CoatingSystem" ADD CONSTRAINT "CoatingSystem_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SystemCoat" ADD CONSTRAINT "SystemCoat_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SystemCoat" ADD CONSTRAINT "SystemCoat_shopId_systemId_fkey" FOREIGN KEY ("shopId", "systemId") REFERENCES "CoatingSystem"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SystemCoat" ADD CONSTRAINT "SystemCoat_shopId_productId_fkey" FOREIGN KEY ("shopId", "productId") REFERENCES "CoatingProduct"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Coat" ADD CONSTRAINT "Coat_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Coat" ADD CONSTRAINT "Coat_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Coat" ADD CONSTRAINT "Coat_shopId_taskId_fkey" FOREIGN KEY ("shopId", "taskId") REFERENCES "Task"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Coat" ADD CONSTRAINT "Coat_shopId_productId_fkey" FOREIGN KEY ("shopId", "productId") REFERENCES "CoatingProduct"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Coat" ADD CONSTRAINT "Coat_shopId_placeId_fkey" FOREIGN KEY ("shopId", "placeId") REFERENCES "Place"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TemperatureReading" ADD CONSTRAINT "TemperatureReading_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TemperatureReading" ADD CONSTRAINT "TemperatureReading_shopId_placeId_fkey" FOREIGN KEY ("shopId", "placeId") REFERENCES "Place"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Station" ADD CONSTRAINT "Station_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StationDay" ADD CONSTRAINT "StationDay_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StationDay" ADD CONSTRAINT "StationDay_shopId_stationId_fkey" FOREIGN KEY ("shopId", "stationId") REFERENCES "Station"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "WeatherForecastDay" ADD CONSTRAINT "WeatherForecastDay_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Comparable" ADD CONSTRAINT "Comparable_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Offer" ADD CONSTRAINT "Offer_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Sale" ADD CONSTRAINT "Sale_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Sale" ADD CONSTRAINT "Sale_shopId_jobId_fkey" FOREIGN KEY ("shopId", "jobId") REFERENCES "Job"("shopId", "id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Plan" ADD CONSTRAINT "Plan_shopId_fkey" FOREIGN KEY ("shopId") REFERENCES "Shop"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
