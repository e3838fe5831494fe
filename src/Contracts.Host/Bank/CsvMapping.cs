using System.Text.Json;
using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Bank;

/// <summary>
/// How the columns of a bank's or card processor's CSV file are to be read (docs/money-files.md). Nothing of a file is guessed: what is not in the
/// mapping is not used.
/// </summary>
public sealed record CsvMapping
{
    private static readonly string[] Names = ["name", "account", "delimiter", "date", "decimal", "sign", "method", "columns"];
    private static readonly string[] ColumnNames = ["bookedOn", "valueOn", "amount", "credit", "debit", "reference", "endToEnd", "returnCode", "currency", "gross", "fee",
        "balance", "text"];

    /// <summary>What the mapping is called.</summary>
    public required string Name { get; init; }

    /// <summary>The shop's account, whose lines the file has.</summary>
    public required string Account { get; init; }

    public required char Delimiter { get; init; }

    public required LocalDatePattern Date { get; init; }

    public required char Decimal { get; init; }

    /// <summary>Whether an amount with a minus came in; otherwise it went out.</summary>
    public required bool MinusIsIn { get; init; }

    /// <summary>How the money of these lines travels.</summary>
    public required string Method { get; init; }

    /// <summary>The header of each column that is read.</summary>
    public required IReadOnlyDictionary<string, string> Columns { get; init; }

    /// <summary>The headers of the columns whose words go into the text.</summary>
    public required IReadOnlyList<string> Texts { get; init; }

    /// <summary>Reads a mapping, or says what does not fit.</summary>
    public static (CsvMapping? Mapping, Refusal? Refusal) Read(ReadOnlyMemory<byte> json)
    {
        try
        {
            using var document = JsonDocument.Parse(json, new JsonDocumentOptions { MaxDepth = 4 });
            return (Read(document.RootElement), null);
        }
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return (null, Wrong("mapping", "it is not a JSON object of texts."));
        }
        catch (MoneyFileException fault)
        {
            return (null, fault.Refusal);
        }
    }

    private static CsvMapping Read(JsonElement root)
    {
        Known(root, Names, "");
        var columns = root.TryGetProperty("columns", out var given) ? given : throw Fault("columns", "it says which column is which.");
        Known(columns, ColumnNames, "columns.");
        var mapped = columns.EnumerateObject().Where(one => one.Name != "text").ToDictionary(one => one.Name, one => one.Value.GetString() ?? "", StringComparer.Ordinal);
        IReadOnlyList<string> texts = columns.TryGetProperty("text", out var text) ? [.. text.EnumerateArray().Select(one => one.GetString() ?? "")] : [];
        if (!mapped.ContainsKey("bookedOn")) { throw Fault("columns.bookedOn", "a line needs the day it was booked."); }
        if (mapped.ContainsKey("amount") == (mapped.ContainsKey("credit") || mapped.ContainsKey("debit")) || mapped.ContainsKey("credit") != mapped.ContainsKey("debit"))
        {
            throw Fault("columns.amount", "it is either one column 'amount' with a sign, or two, 'credit' and 'debit'.");
        }

        if (mapped.ContainsKey("gross") != mapped.ContainsKey("fee")) { throw Fault("columns.gross", "'gross' and 'fee' go together; the amount is what is left."); }
        return new CsvMapping
        {
            Name = Text(root, "name", null), Account = Text(root, "account", null), Delimiter = One(root, "delimiter", ",", ",;|\t"), Decimal = One(root, "decimal", ".", ".,"),
            Date = Days(root), MinusIsIn = Text(root, "sign", "minus-is-out") switch
            {
                "minus-is-out" => false,
                "minus-is-in" => true,
                _ => throw Fault("sign", "it is minus-is-out or minus-is-in."),
            },
            Method = Text(root, "method", "bank"), Columns = mapped, Texts = texts,
        };
    }

    /// <summary>How days are written; a year has four digits.</summary>
    internal static LocalDatePattern Days(JsonElement root)
    {
        var date = Text(root, "date", "uuuu-MM-dd");
        if (!date.Contains("uuuu", StringComparison.Ordinal)) { throw Fault("date", "the pattern needs a year of four digits, uuuu."); }
        try
        {
            return LocalDatePattern.CreateWithInvariantCulture(date);
        }
        catch (InvalidPatternException fault)
        {
            throw Fault("date", $"'{date}' is no pattern of a date: {fault.Message}");
        }
    }

    /// <summary>A text of the mapping, or what stands for it where it is left out.</summary>
    internal static string Text(JsonElement root, string name, string? otherwise)
    {
        var text = root.TryGetProperty(name, out var given) ? given.GetString() : otherwise;
        return text is { Length: > 0 and <= 100 } ? text : throw Fault(name, "it needs 1 to 100 characters.");
    }

    /// <summary>One of a few characters.</summary>
    internal static char One(JsonElement root, string name, string otherwise, string choices)
    {
        var text = Text(root, name, otherwise);
        return text.Length == 1 && choices.Contains(text[0], StringComparison.Ordinal) ? text[0]
            : throw Fault(name, $"it is one of {string.Join(" ", choices.Replace("\t", "tab", StringComparison.Ordinal).ToCharArray())}.");
    }

    /// <summary>A field that no mapping has is a typing error.</summary>
    internal static void Known(JsonElement element, IReadOnlyList<string> names, string path)
    {
        foreach (var property in element.EnumerateObject())
        {
            if (!names.Contains(property.Name)) { throw Fault(path + property.Name, "a mapping has no such field."); }
        }
    }

    /// <summary>What does not fit.</summary>
    internal static MoneyFileException Fault(string field, string why) => new(Wrong(field, why));

    private static Refusal Wrong(string field, string why) => new(RefusalCode.MoneyMappingInvalid, $"'{field}': {why}", field);
}
