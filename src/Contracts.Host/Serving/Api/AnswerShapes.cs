using Contracts.Host.Serving.SignIn;
using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>
/// What each route answers, as schemas of the API document. A test holds real answers against them, so a member that is new here has to be
/// new there.
/// </summary>
internal static class AnswerShapes
{
    /// <summary>The shapes that have a name in the document.</summary>
    public static IEnumerable<(string Name, OpenApiSchema Shape)> All() =>
    [
        ("Found", Found()), ("Account", Account()), ("Portfolio", Portfolio()), ("HistoryEvent", HistoryEvent()), ("StoredEvent", ReasonShapes.StoredEvent()),
        ("TracedTotal", TracedTotal()), ("IssuedPaper", IssuedPaper()),
        ("PaperData", Open("The data that a paper was made of; each kind of paper has members of its own (docs/papers.md).")),
        ("TrialBalance", TrialBalance()), ("Packet", PacketShapes.Packet()), ("LawPackLine", LawPackLine()), ("LawPack", LawPack()), ("Quote", QuoteShapes.Quote()),
        ("Checkpoint", Checkpoint()), ("Check", Check()), ("Explanation", ReasonShapes.Explanation()), ("Comparison", ReasonShapes.Comparison()),
        ("Statement", ReasonShapes.Statement()), ("HouseholdStatement", HouseholdEndpoint.Shape()),
        ("Differ", ResultsEndpoints.Shape()),
        ("Proposal", ReasonShapes.Proposal()), ("Dispute", DisputeShapes.Dispute()),
        ("Outcome", Outcome()), ("Queued", Queued()), ("Preview", ReasonShapes.Preview()), ("WhatIf", WhatIfShape.WhatIf()),
        ("Ready", Ready()), ("Readiness", PacketShapes.Readiness()), ("Unit", FleetShapes.Unit()), ("Fleet", FleetShapes.Fleet()),
        ("DueBack", FleetShapes.DueBack()), ("Meaning", Meaning()), ("JobRun", JobEndpoints.RunShape()), ("WholeJobRun", JobEndpoints.WholeRunShape()),
        ("MoneyFileRead", MoneyFileShapes.Read()), ("MoneyFile", MoneyFileShapes.File()), ("MoneyLine", MoneyFileShapes.Line()),
    ];

    /// <summary>The shape of a route's answer in a media type.</summary>
    public static IOpenApiSchema Of(Door door, string type, OpenApiDocument document) => type switch
    {
        "application/jsonl" => Text(
            door == Doors.Totals ? "One TracedTotal a line." : door == Doors.Results ? "A results file (docs/replay.md)." : "One Account a line."),
        "text/csv" => Text("A line of headings, then one account a line."),
        "text/html" => Text("The paper, byte for byte as it was issued."),
        "text/calendar" => Text("A calendar (RFC 5545)."),
        "text/plain" => Text(door == Doors.Journal ? "A journal that ledger, hledger or beancount reads." : "A signed note (C2SP signed-note)."),
        "application/zip" => new OpenApiSchema { Type = JsonSchemaType.String, Format = "binary", Description = "The dossier (docs/dossier.md)." },
        _ => Json(door, document),
    };

    /// <summary>The shape of what is open to everybody, by its path.</summary>
    public static IOpenApiSchema Of(string path, OpenApiDocument document) => path.TrimStart('/') switch
    {
        "health/live" => OneOf("live"),
        "health/ready" => Named("Ready", document),
        "problems" => List(Named("Meaning", document)),
        "problems/{code}" => Named("Meaning", document),
        _ => throw new ArgumentOutOfRangeException(nameof(path), path, "No shape is written for this path."),
    };

    private static IOpenApiSchema Json(Door door, OpenApiDocument document)
    {
        return door == Doors.Find ? List(One("Found"))
            : door == Doors.Accounts ? List(One("Account")) : door == Doors.Account ? One("Account") : door == Doors.Portfolio ? One("Portfolio")
            : door == Doors.History ? List(One("HistoryEvent")) : door == Doors.Stored ? List(One("StoredEvent")) : door == Doors.Totals ? One("TracedTotal")
            : door == Doors.Papers ? List(One("IssuedPaper")) : door == Doors.Paper ? One("PaperData")
            : door == Doors.Books ? One("TrialBalance") : door == Doors.Packet ? One("Packet") : door == Doors.Ready ? One("Readiness")
            : door == Doors.LawList ? List(One("LawPackLine")) : door == Doors.Law ? One("LawPack") : door == Doors.Quotes ? One("Quote")
            : door == Doors.Checkpoint ? One("Checkpoint") : door == Doors.Check ? One("Check") : door == Doors.Differ ? One("Differ")
            : door == Doors.Jobs ? List(One("JobRun")) : door == Doors.Job ? One("WholeJobRun")
            : door == Doors.Explain || door == Doors.ExplainReport ? One("Explanation") : door == Doors.Compare ? One("Comparison")
            : door == Doors.Statement ? One("Statement") : door == Doors.Household ? One("HouseholdStatement")
            : door == Doors.Proposals ? List(One("Proposal")) : door == Doors.Disputes ? List(One("Dispute"))
            : door == Doors.Unit ? One("Unit") : door == Doors.Fleet ? One("Fleet") : door == Doors.DueBack ? List(One("DueBack"))
            : door == Doors.Commands ? One("Outcome") : door == Doors.Queue ? One("Queued") : door == Doors.Preview ? One("Preview") : door == Doors.WhatIf ? One("WhatIf")
            : door == Doors.MoneyFileRead ? One("MoneyFileRead") : door == Doors.MoneyFiles ? List(One("MoneyFile")) : door == Doors.MoneyLines ? List(One("MoneyLine"))
            : throw new ArgumentOutOfRangeException(nameof(door), door, "No shape is written for this route.");

        OpenApiSchemaReference One(string name) => Named(name, document);
    }

    private static OpenApiSchemaReference Named(string name, OpenApiDocument document) => new(name, document);

    private static OpenApiSchema Found() => Closed(
        "A contract that goes with what is in hand, as it stands today.",
        ("contract", Text()), ("by", OneOf("contract", "household", "instrument", "receipt", "telephone")), ("what", Text("That thing as it is recorded.")),
        ("kind", Text("The kind of instrument.")), ("status", Text("A status of rule M69.")), ("equity", Money()), ("pastDue", Money()));

    private static OpenApiSchema Account() => Closed(
        "One account as of a day, as known at a moment (docs/interface.md, docs/money.md).",
        ("contract", Text()), ("on", Day()), ("known", Moment()), ("status", Text("A status of rule M69.")),
        ("instrument", Closed(null, ("kind", Text()), ("serial", Text()))),
        ("equity", Money()), ("carriedEquity", Money()), ("remainingToOwn", Money()), ("pastDue", Money()), ("unappliedCredit", Money()),
        ("goodwillCredit", Money()), ("merchandiseCredit", Money()),
        ("earlyPurchase", Closed(null, ("price", Money()), ("basis", Text("terms, none, or a citation.")), ("tax", Money()), ("payoff", Money()))),
        ("paid", Paid()),
        ("installments", Closed(null, ("total", Count()), ("due", Count()), ("paid", Count()), ("remaining", Count()))),
        ("remainingBySchedule", Money()), ("totalCost", Money()), ("costOfRental", Money()),
        ("openItems", List(
            Closed(null, ("id", Text()), ("kind", Text()), ("part", Text()), ("dueOn", Day()), ("charged", Money()), ("open", Money())),
            "In the order in which money will pay them.")),
        ("nextDue", OrNull(Closed(null, ("on", Day()), ("amount", Money())))),
        ("events", Count("Those that are known and dated by the day.")), ("lastSequence", Count("The last such event's number in the store's order.")),
        ("takenOver?", Closed("The book that the contract was taken over from, where it was.", ("book", Text()), ("line", Count("The line of its contracts.")))));

    private static OpenApiSchema Paid() => Closed(
        null, ("total", Money()), ("rent", Money()), ("plan", Money()), ("tax", Money()), ("fees", Money()), ("accessories", Money()), ("purchase", Money()));

    private static OpenApiSchema Portfolio() => Closed(
        "Every money figure of an account, summed over all accounts.",
        ("on", Day()), ("known", Moment()), ("accounts", Count()), ("statuses", Map(Count(), "How many accounts have each status; only those above 0.")),
        ("equity", Money()), ("carriedEquity", Money()), ("remainingToOwn", Money()), ("pastDue", Money()), ("unappliedCredit", Money()),
        ("goodwillCredit", Money()), ("merchandiseCredit", Money()), ("earlyPurchase", Closed(null, ("price", Money()), ("tax", Money()), ("payoff", Money()))),
        ("paid", Paid()), ("remainingBySchedule", Money()), ("totalCost", Money()), ("costOfRental", Money()), ("nextDue", Closed(null, ("amount", Money()))));

    private static OpenApiSchema HistoryEvent() => Closed(
        "One event of a contract.",
        ("sequence", Count("Its number in the store's order.")), ("on", Day("The day it is about.")), ("recordedAt", Moment("When the engine learned it.")),
        ("event", Match("^[a-z_]+$", "Its stored name; names never change.")), ("says", Text("The same in words, which may change.")),
        ("money?", Money("What it moved; what comes in is positive.")), ("by?", Text("Who.")), ("reason?", Text("Why.")),
        ("cause?", Text("The key of the fact that caused it.")), ("approvedBy?", Text("The second person, where it took two.")),
        ("trace?", Match("^[0-9a-f]{32}$", "The W3C trace id of the request that wrote it, where it came over HTTP.")),
        ("key", Text("The key of its command.")), ("overtaken", Flag("Whether it has no effect in the present view.")),
        ("takenOver?", Closed(
            "The line of an old book that it was taken over from, where it was.", ("book", Text()), ("file", OneOf("contracts", "payments")), ("line", Count()),
            ("deemed", Flag("Whether the book named no such payment, and it is only deemed made on the day it was due.")))));

    private static OpenApiSchema TracedTotal() => Closed(
        "A total of papers as the events that make it.",
        ("figure", Text()), ("amount", Money()),
        ("events", List(Closed(null, ("sequence", Count()), ("on", Day()), ("key", Text()), ("says", Text()), ("amount", Money())))));

    private static OpenApiSchema IssuedPaper() => Closed(
        "A paper that was issued.",
        ("id", Text()), ("contract", Text()), ("kind", Text()), ("for", OrNull(Text("The key of the fact it is about."))), ("on", Day()), ("known", Moment()),
        ("issuedAt", Moment()), ("by", OrNull(Text())), ("template", Text()), ("mediaType", Text()), ("digest", Digest("SHA-256 of the bytes.")),
        ("dataDigest", Digest()), ("factsDigest", Digest()), ("templateDigest", Digest()), ("rules", Text("The program that made it.")), ("lawPack", OrNull(Text())));

    private static OpenApiSchema TrialBalance() => Closed(
        "The trial balance through a day.",
        ("through", Day()), ("known", Moment()),
        ("accounts", List(Closed(null, ("account", Text()), ("debit", Money()), ("credit", Money()), ("balance", Money("Debit less credit."))))),
        ("totalDebit", Money()), ("totalCredit", Money()),
        ("memo", List(Closed(null, ("account", Text()), ("debit", Money()), ("credit", Money()), ("balance", Money()), ("commodity", Text())))));

    private static OpenApiSchema LawPackLine() => Closed(
        "A law pack in the list. Not legal advice.",
        ("jurisdiction", Text()), ("version", Text()), ("verified", Text()), ("rules", Count()), ("from", OrNull(Day("Null where it is not known."))));

    private static OpenApiSchema LawPack() => Closed(
        "A law pack with its rules (docs/law-packs.md). Not legal advice.",
        ("jurisdiction", Text()), ("version", Text()), ("verified", Text()), ("from", OrNull(Day())), ("name", Text()), ("act", Text()), ("digest", Text()),
        ("absentRulesAre", OneOf("none", "not-loaded")), ("openPoints", List(Text())), ("sources", Map(Text(), "Where it was read, how, and when.")),
        ("rules", List(Open("A rule as the file writes it; each kind has parameters of its own.", ("kind", Text())))), ("caution", Text()));

    private static OpenApiSchema Checkpoint() => Closed(
        "The newest signed head of the log.", ("size", Count("How many leaves.")), ("root", Digest("The root, SHA-256 in hex.")), ("note", Text("The signed note.")));

    private static OpenApiSchema Check() => Closed(
        "What was checked, and what does not hold.",
        ("ok", Flag()), ("checked", Map(Count(), "How many of each kind of thing were looked at.")),
        ("faults", List(Closed(
            null, ("kind", Text()), ("stream", Text()), ("version", OrNull(Count())), ("field", OrNull(Text())), ("detail", Text())))));

    private static OpenApiSchema Outcome() => Closed(
        "What became of a command.", ("outcome", OneOf("applied", "already")), ("recordedAt", Moment()), ("events", Count("How many it recorded.")));

    private static OpenApiSchema Queued() => Closed("The command is in the durable queue.", ("outcome", OneOf("queued")), ("key", Text()));

    private static OpenApiSchema Ready() => Closed(
        "The host can work.", ("status", OneOf("ready")), ("unsealed", Count("How many events wait for their seal.")));

    private static OpenApiSchema Meaning() => Closed(
        "What a problem's code means.",
        ("code", Text()), ("number?", Count()), ("status", Count()), ("says", Text()), ("rule?", Text("A rule of docs/money.md.")), ("retry?", Text()));
}
