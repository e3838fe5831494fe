using System.Text.Json;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Host.Reconstruct;
using Contracts.Store.Bank;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Bank;

/// <summary>Files and lines as JSON: the bytes of the command line and of the API.</summary>
internal static class BankJson
{
    /// <summary>What became of a file.</summary>
    public static string Outcome(MoneyFileOutcome outcome) => AccountPrinter.Json(json =>
    {
        var file = outcome.File!;
        json.WriteStartObject();
        json.WriteString("file", file.File);
        json.WriteString("name", file.Name);
        json.WriteString("form", file.Form);
        Statements(json, file);
        json.WriteNumber("matched", outcome.Count.Matched);
        json.WriteNumber("proposed", outcome.Count.Proposed);
        json.WriteNumber("unmatched", outcome.Count.Unmatched);
        json.WriteNumber("already", outcome.Count.Already);
        json.WriteNumber("notBooked", outcome.NotBooked);
        json.WriteStartArray("refused");
        foreach (var bad in outcome.Bad)
        {
            json.WriteStartObject();
            json.WriteString("code", bad.Slug);
            json.WriteString("detail", bad.Detail);
            if (bad.Field is { } field) { json.WriteString("field", field); }
            json.WriteEndObject();
        }

        json.WriteEndArray();
        if (outcome.BadCount > MoneyFiles.MostListed) { json.WriteNumber("notListed", outcome.BadCount - MoneyFiles.MostListed); }
        json.WriteEndObject();
    });

    /// <summary>Files as one list.</summary>
    public static string Files(IReadOnlyList<RecordedFile> files) => List(files, (json, one) =>
    {
        json.WriteString("file", one.File.File);
        json.WriteString("name", one.File.Name);
        json.WriteString("form", one.File.Form);
        json.WriteString("receivedAt", InstantPattern.ExtendedIso.Format(one.At));
        if (one.By is { } by) { json.WriteString("by", by); }
        Statements(json, one.File);
        json.WriteNumber("matched", one.Matched);
        json.WriteNumber("waited", one.Waited);
        json.WriteNumber("waiting", one.Waiting);
    });

    /// <summary>Lines as one list.</summary>
    public static string Entries(IReadOnlyList<RecordedEntry> entries) => List(entries, Entry);

    /// <summary>Return codes as one list.</summary>
    public static string Codes() => List(ReturnCode.All, (json, code) =>
    {
        json.WriteString("code", code.Code);
        json.WriteString("title", code.Title);
        json.WriteString("frame", code.FrameWords);
        json.WriteBoolean("ofConsumerDebit", code.OfConsumerDebit);
        json.WriteString("verified", code.Verified);
        json.WriteString("citation", code.Citation);
    });

    /// <summary>Where a line stands, as a word.</summary>
    public static string Word(EntryStanding standing) => standing switch
    {
        EntryStanding.Matched => "matched",
        EntryStanding.Proposed => "proposed",
        EntryStanding.Unmatched => "unmatched",
        EntryStanding.Settled => "settled",
        EntryStanding.SetAside => "set-aside",
        _ => throw new System.Diagnostics.UnreachableException($"No word for {standing}."),
    };

    private static void Entry(Utf8JsonWriter json, RecordedEntry one)
    {
        var line = one.Line;
        json.WriteString("entry", line.Entry);
        json.WriteString("status", Word(one.Standing));
        json.WriteString("bookedOn", LocalDatePattern.Iso.Format(line.BookedOn));
        if (line.ValueOn is { } value) { json.WriteString("valueOn", LocalDatePattern.Iso.Format(value)); }
        json.WriteString("direction", line.IsCredit ? "in" : "out");
        json.WriteString("amount", line.Amount.ToString());
        Optional(json, "gross", line.Gross?.ToString());
        Optional(json, "fee", line.Fee?.ToString());
        json.WriteString("method", line.Method);
        Optional(json, "reference", line.Reference);
        Optional(json, "returnCode", line.ReturnCode);
        Optional(json, "text", one.Text);
        json.WriteString("because", one.Because);
        Optional(json, "remark", one.Remark);
        json.WriteStartArray("shares");
        foreach (var share in one.Shares)
        {
            json.WriteStartObject();
            json.WriteString("contract", share.Contract);
            json.WriteString("amount", share.Amount.ToString());
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("payments");
        foreach (var payment in one.Payments) { json.WriteStringValue(payment); }
        json.WriteEndArray();
        json.WriteStartArray("candidates");
        foreach (var candidate in one.Candidates)
        {
            json.WriteStartObject();
            json.WriteString("contract", candidate.Contract);
            Optional(json, "payment", candidate.Payment);
            json.WriteString("why", candidate.Why);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteString("file", line.File);
        json.WriteString("place", line.Place);
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(one.RecordedAt));
        Optional(json, "decidedBy", one.DecidedBy);
        Optional(json, "decidedAt", one.DecidedAt is { } at ? InstantPattern.ExtendedIso.Format(at) : null);
    }

    private static void Statements(Utf8JsonWriter json, MoneyFileReceived file)
    {
        json.WriteStartArray("statements");
        foreach (var one in file.Statements)
        {
            json.WriteStartObject();
            json.WriteString("statement", one.Name);
            json.WriteString("account", one.Account);
            Optional(json, "opening", one.Opening?.ToString());
            Optional(json, "closing", one.Closing?.ToString());
            json.WriteNumber("lines", one.Lines);
            json.WriteString("in", one.Credits.ToString());
            json.WriteString("out", one.Debits.ToString());
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static string List<T>(IEnumerable<T> items, Action<Utf8JsonWriter, T> write) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var item in items)
        {
            json.WriteStartObject();
            write(json, item);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    });

    private static void Optional(Utf8JsonWriter json, string name, string? value)
    {
        if (value is not null) { json.WriteString(name, value); }
    }
}
