using System.Globalization;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Law;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Compliance;

/// <summary>Law packs as tables, JSON and CSV.</summary>
internal static class LawPrinter
{
    internal const string Caution = "Read by laypeople in public texts; rules vary by state and change. Not legal advice: local counsel has to confirm every line.";

    public static void List(IReadOnlyList<LawPack> packs, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table:
                var table = AccountPrinter.Plain().AddColumns("jurisdiction", "name", "version", "verified").AddColumn(new TableColumn("rules").RightAligned()).AddColumn("from");
                foreach (var pack in packs)
                {
                    table.AddRow(pack.Jurisdiction, Markup.Escape(pack.Name), Number(pack.Version), pack.Verified.Word(), Number(pack.Rules.Length), From(pack) ?? "not known");
                }

                AnsiConsole.Write(table);
                AnsiConsole.WriteLine(Caution);
                break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("jurisdiction,name,version,verified,rules,from");
                foreach (var pack in packs)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', pack.Jurisdiction, AccountCsv.Cell(pack.Name), Number(pack.Version), pack.Verified.Word(), Number(pack.Rules.Length), From(pack)));
                }

                break;
            case OutputFormat.Jsonl:
                foreach (var pack in packs) { Console.Out.WriteLine(AccountPrinter.Json(json => Row(json, pack))); }
                break;
            default:
                Console.Out.WriteLine(Json(packs));
                break;
        }
    }

    /// <summary>The list as JSON.</summary>
    public static string Json(IReadOnlyList<LawPack> packs) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var pack in packs) { Row(json, pack); }
        json.WriteEndArray();
    });

    /// <summary>A pack with its rules as JSON.</summary>
    public static string Json(LawPack pack) => AccountPrinter.Json(json => Whole(json, pack));

    public static void Show(LawPack pack, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(Json(pack));
            return;
        }

        AnsiConsole.WriteLine($"{pack.Name}: {pack.Act}. Pack {pack.Reference}, {pack.Verified.Word()}; for agreements from {From(pack) ?? "a day that is not known"} on.");
        var table = AccountPrinter.Plain().AddColumns("rule", "section", "verified", "says");
        foreach (var rule in pack.Rules)
        {
            var says = rule.Loaded ? Says(rule) : $"not read. {Says(rule)}";
            table.AddRow(rule.Kind, Markup.Escape(rule.Citation), rule.Head.Verified.Word(), Markup.Escape(says));
        }

        AnsiConsole.Write(table);
        AnsiConsole.WriteLine(pack.AbsentMeansNone
            ? "A kind of rule that is missing here was not found in the act."
            : "The act was not read in whole: a rule that is missing here may exist.");
        foreach (var point in pack.OpenPoints) { AnsiConsole.WriteLine($"Open: {point}"); }
        AnsiConsole.WriteLine(Caution);
    }

    /// <summary>The parameters of a rule in one line, as the file writes them.</summary>
    internal static string Says(LawRule rule) => string.Join("; ", rule.Head.Text.EnumerateObject()
        .Where(field => field.Name is not ("kind" or "citation" or "verified" or "source" or "loaded"))
        .Select(field => $"{Words(field.Name)}: {Plain(field.Value)}"));

    /// <summary>A value without braces and quotes, for people.</summary>
    private static string Plain(JsonElement value) => value.ValueKind switch
    {
        JsonValueKind.String => value.GetString()!,
        JsonValueKind.True => "yes",
        JsonValueKind.False => "no",
        JsonValueKind.Array => string.Join(", ", value.EnumerateArray().Select(Plain)),
        JsonValueKind.Object => string.Join(" ", value.EnumerateObject().Select(field => $"{Words(field.Name)} {Plain(field.Value)}")),
        _ => value.GetRawText(),
    };

    /// <summary>A field's name in words: <c>lessShareOfPaid</c> is "less share of paid".</summary>
    private static string Words(string name) =>
        string.Concat(name.Select(letter => char.IsAsciiLetterUpper(letter) ? $" {char.ToLowerInvariant(letter)}" : $"{letter}"));

    private static void Row(Utf8JsonWriter json, LawPack pack)
    {
        json.WriteStartObject();
        Head(json, pack);
        json.WriteNumber("rules", pack.Rules.Length);
        json.WriteString("from", From(pack));
        json.WriteEndObject();
    }

    private static void Whole(Utf8JsonWriter json, LawPack pack)
    {
        json.WriteStartObject();
        Head(json, pack);
        json.WriteString("from", From(pack));
        json.WriteString("name", pack.Name);
        json.WriteString("act", pack.Act);
        json.WriteString("digest", pack.Digest);
        json.WriteString("absentRulesAre", pack.AbsentMeansNone ? "none" : "not-loaded");
        json.WriteStartArray("openPoints");
        foreach (var point in pack.OpenPoints) { json.WriteStringValue(point); }
        json.WriteEndArray();
        json.WriteStartObject("sources");
        foreach (var (name, source) in pack.Sources.OrderBy(pair => pair.Key, StringComparer.Ordinal))
        {
            json.WriteString(name, $"{source.Text}; {source.How}; as of {source.AsOf}");
        }

        json.WriteEndObject();
        json.WriteStartArray("rules");
        foreach (var rule in pack.Rules) { rule.Head.Text.WriteTo(json); }
        json.WriteEndArray();
        json.WriteString("caution", Caution);
        json.WriteEndObject();
    }

    private static void Head(Utf8JsonWriter json, LawPack pack)
    {
        json.WriteString("jurisdiction", pack.Jurisdiction);
        json.WriteString("version", Number(pack.Version));
        json.WriteString("verified", pack.Verified.Word());
    }

    internal static string? From(LawPack pack) => pack.From is { } day ? LocalDatePattern.Iso.Format(day) : null;

    private static string Number(int number) => number.ToString(CultureInfo.InvariantCulture);
}
