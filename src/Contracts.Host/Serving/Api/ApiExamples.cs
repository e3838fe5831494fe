using Contracts.Host.Serving.SignIn;

namespace Contracts.Host.Serving.Api;

/// <summary>What the API document shows beside the routes: headers, bodies that can be sent as they stand, kinds of answers.</summary>
internal static class ApiExamples
{
    // Invented, like everything in the examples; a test sends them in this order.
    private const string Tax =
        """{"do":"set-tax","key":"tax-1","jurisdiction":"wexmoor-alder-ferry","rate":"0.08","from":"2020-01-01","taxes":{"rent":true,"plan":false,"fees":false,"sale":true}}""";

    private const string Terms = """
        "terms":{"cashPrice":"899.00","purchasePrice":"899.00","monthlyRent":"39.00","creditShare":"1.00",
        "earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7}}
        """;

    private const string Sign = $$"""
        {"do":"sign","key":"sign-1","contract":"C-1","on":"2026-09-05","household":"H-1","instrument":{"kind":"clarinet","serial":"HC-0001","condition":"new"},
        "state":"OR","jurisdiction":"wexmoor-alder-ferry","startOn":"2026-09-05",{{Terms}},"accessories":[],"planElected":false}
        """;

    private const string Pay = """{"do":"pay","key":"pay-1","contract":"C-1","on":"2026-09-05","amount":"42.12","method":"cash"}""";

    private const string MoneyFile = """
        {"name":"bank.csv","text":"Posted,Reference,Amount,Description\n2026-09-05,SB-1,39.00,rent C-1\n",
        "mapping":{"name":"bank","account":"000771204821","columns":{"bookedOn":"Posted","reference":"Reference","amount":"Amount","text":["Description"]}}}
        """;

    private const string Removed = """{"remove":"pay-1"}""";

    private const string Redated = """{"redate":"pay-1","on":"2026-09-04"}""";

    private const string OtherResults = "{\"form\":1,\"known\":\"2026-09-06T12:00:00Z\",\"today\":\"2026-09-06\",\"numbers\":[],\"texts\":[]}\n{\"contracts\":0,\"events\":0}\n";

    private const string Offer = $$"""{"state":"OR","jurisdiction":"wexmoor-alder-ferry","startOn":"2026-09-05",{{Terms}}}""";

    /// <summary>A name for the operation, for programs that make programs.</summary>
    public static string NameOf(Door door) => string.Concat(door.Route.Split('/', StringSplitOptions.RemoveEmptyEntries).Skip(1)
        .Select(part => part.Trim('{', '}', '*').Replace(".", "", StringComparison.Ordinal))
        .Select((part, index) => index == 0 ? part : char.ToUpperInvariant(part[0]) + part[1..]));

    public static IReadOnlyDictionary<string, string> BodyOf(Door door) =>
        door == Doors.Commands ? new Dictionary<string, string> { ["set-tax"] = Tax, ["sign"] = Sign, ["pay"] = Pay }
        : door == Doors.Preview ? new Dictionary<string, string> { ["pay"] = Pay }
        : door == Doors.WhatIf ? new Dictionary<string, string> { ["remove"] = Removed, ["redate"] = Redated, ["add"] = $$"""{"add":{{Pay}} }""" }
        : door == Doors.Queue ? new Dictionary<string, string> { ["pay"] = Pay }
        : door == Doors.MoneyFileRead ? new Dictionary<string, string> { ["statement"] = MoneyFile }
        : door == Doors.Quotes ? new Dictionary<string, string> { ["offer"] = Offer }
        : door == Doors.Differ ? new Dictionary<string, string> { ["results"] = OtherResults }
        : new Dictionary<string, string>();

    /// <summary>The media type of a body.</summary>
    public static string TypeOf(Door door) => door == Doors.Differ ? "application/jsonl" : "application/json";

    public static IEnumerable<(string Name, string Says)> HeadersOf(Door door)
    {
        if (door == Doors.Commands || door == Doors.Queue)
        {
            yield return (CommandEndpoints.KeyHeader, "The command's key, or the key of a body that has none. The same key counts once, for ever.");
        }

        if (door == Doors.Commands) { yield return ("If-Match", "The ETag of the account that was looked at: refused with 412 when the contract has moved since."); }
        if (door == Doors.Account) { yield return ("If-None-Match", "An ETag: 304 when the figures are the same."); }
        if (door.Recorded || door == Doors.Preview) { yield return (ReadRecorder.PurposeHeader, Words.Purpose); }
    }

    public static (string Status, string[] Types, string Says) AnswerOf(Door door) =>
        door == Doors.Queue ? ("202", ["application/json"], "{ \"outcome\": \"queued\", \"key\" }")
        : door == Doors.Commands ? ("200", ["application/json"], "{ \"outcome\": \"applied\" or \"already\", \"recordedAt\", \"events\" }")
        : door == Doors.Preview ? ("200", ["application/json"], "The events it would record and the figures before and after, as `contracts preview` prints them.")
        : door == Doors.Accounts ? ("200", ["application/json", "application/jsonl", "text/csv"], "A page, whose Link header names the next one; or all in one stream.")
        : door == Doors.Paper ? ("200", ["text/html", "application/json"], "The very bytes that were issued, or the data they were made of.")
        : door == Doors.Journal ? ("200", ["text/plain"], "The journal; docs/accounting.md tells its form.")
        : door == Doors.Due ? ("200", ["text/calendar"], "Whole days with amounts (RFC 5545); an installment keeps its UID.")
        : door == Doors.Dossier ? ("200", ["application/zip"], "The file that `contracts verify` checks.")
        : door == Doors.Checkpoint ? ("200", ["application/json", "text/plain"], "{ \"size\", \"root\", \"note\" }, or the signed note alone.")
        : door == Doors.Results ? ("200", ["application/jsonl"], "The file that `contracts results` writes and `differ` reads.")
        : door == Doors.Totals ? ("200", ["application/jsonl", "application/json"], "One total a line.")
        : ("200", ["application/json"], "What the command line prints with --format json (docs/interface.md).");
}
