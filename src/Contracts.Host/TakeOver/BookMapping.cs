using System.Globalization;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Bank;
using Contracts.TakeOver;
using NodaTime.Text;

namespace Contracts.Host.TakeOver;

/// <summary>How one file of a book is to be read.</summary>
/// <param name="Columns">The header of each column that is read, by its name.</param>
/// <param name="Always">What is the same for every line, by the name of the column that the file has not.</param>
/// <param name="Figures">The headers of the book's own figures of each contract, by their paths in an account.</param>
public sealed record BookPart(IReadOnlyDictionary<string, string> Columns, IReadOnlyDictionary<string, string> Always, IReadOnlyDictionary<string, string> Figures);

/// <summary>
/// How the files of a book that a shop kept before are to be read (docs/take-over.md). Nothing of a file is guessed: what is not in the mapping is not used.
/// </summary>
public sealed record BookMapping
{
    private static readonly string[] Names = ["book", "delimiter", "date", "decimal", "yes", "no", "contracts", "payments"];
    private static readonly string[] NeededOfContracts =
        ["contract", "household", "kind", "serial", "state", "jurisdiction", "signedOn", "cashPrice", "monthlyRent", "creditShare"];

    private static readonly string[] NeededOfPayments = ["contract", "paidOn", "amount"];

    /// <summary>What the book is called for ever: 1 to 40 letters, digits or hyphens.</summary>
    public required string Book { get; init; }

    public required char Delimiter { get; init; }

    public required LocalDatePattern Date { get; init; }

    public required char Decimal { get; init; }

    /// <summary>The shop's word for yes.</summary>
    public required string Yes { get; init; }

    /// <summary>The shop's word for no.</summary>
    public required string No { get; init; }

    /// <summary>The file of contracts.</summary>
    public required BookPart Contracts { get; init; }

    /// <summary>The file of payments, where the shop kept one.</summary>
    public BookPart? Payments { get; init; }

    /// <summary>The discounts of an early purchase as a JSON list, or null.</summary>
    public string? EarlyPurchase { get; init; }

    /// <summary>Reads a mapping, or says what does not fit; exactly one of the two answers is given.</summary>
    /// <param name="json">The bytes of the file.</param>
    public static (BookMapping? Mapping, Refusal? Refusal) Read(ReadOnlyMemory<byte> json)
    {
        if (json.Span.StartsWith("\uFEFF"u8)) { json = json[3..]; }
        try
        {
            using var document = JsonDocument.Parse(json, new JsonDocumentOptions { MaxDepth = 6 });
            return (Read(document.RootElement), null);
        }
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return (null, new Refusal(RefusalCode.BookMappingInvalid, "'mapping': it is not a JSON object of texts.", "mapping"));
        }
        catch (MoneyFileException fault)
        {
            return (null, fault.Refusal with { Code = RefusalCode.BookMappingInvalid });
        }
    }

    private static BookMapping Read(JsonElement root)
    {
        CsvMapping.Known(root, Names, "");
        var book = CsvMapping.Text(root, "book", null);
        if (book.Length > 40 || !book.All(letter => char.IsAsciiLetterOrDigit(letter) || letter == '-'))
        {
            throw CsvMapping.Fault("book", "a book's name has 1 to 40 letters, digits or hyphens.");
        }

        if (!root.TryGetProperty("contracts", out var contracts)) { throw CsvMapping.Fault("contracts", "it says how the file of contracts is to be read."); }
        CsvMapping.Known(contracts, ["columns", "always", "earlyPurchase", "figures"], "contracts.");
        var part = Part(contracts, "contracts.", BookColumn.OfContracts);
        if (NeededOfContracts.FirstOrDefault(name => !part.Columns.ContainsKey(name) && !part.Always.ContainsKey(name)) is { } missing)
        {
            throw CsvMapping.Fault($"contracts.columns.{missing}", "a contract cannot be read without it; it is a column, or the same always.");
        }

        BookPart? payments = null;
        if (root.TryGetProperty("payments", out var paid))
        {
            CsvMapping.Known(paid, ["columns", "always"], "payments.");
            payments = Part(paid, "payments.", BookColumn.OfPayments);
            if (NeededOfPayments.FirstOrDefault(name => !payments.Columns.ContainsKey(name)) is { } unpaid)
            {
                throw CsvMapping.Fault($"payments.columns.{unpaid}", "a payment cannot be read without it.");
            }
        }

        return new BookMapping
        {
            Book = book, Delimiter = CsvMapping.One(root, "delimiter", ",", ",;|\t"), Decimal = CsvMapping.One(root, "decimal", ".", ".,"), Date = CsvMapping.Days(root),
            Yes = CsvMapping.Text(root, "yes", "yes"), No = CsvMapping.Text(root, "no", "no"), Contracts = part, Payments = payments,
            EarlyPurchase = contracts.TryGetProperty("earlyPurchase", out var tiers) ? tiers.GetRawText() : null,
        };
    }

    private static BookPart Part(JsonElement part, string path, IReadOnlyList<BookColumn> known)
    {
        if (!part.TryGetProperty("columns", out var given)) { throw CsvMapping.Fault($"{path}columns", "it says which column is which."); }
        CsvMapping.Known(given, [.. known.Select(column => column.Name)], $"{path}columns.");
        var columns = Texts(given);
        var always = part.TryGetProperty("always", out var same) ? Always(same, columns, path, known) : new Dictionary<string, string>(StringComparer.Ordinal);
        var figures = new Dictionary<string, string>(StringComparer.Ordinal);
        if (part.TryGetProperty("figures", out var own))
        {
            CsvMapping.Known(own, ControlTotals.Figures, $"{path}figures.");
            figures = Texts(own);
        }

        return new BookPart(columns, always, figures);
    }

    /// <summary>What is the same for every line is written as a command file has it: days in ISO 8601, amounts with a point, true or false.</summary>
    private static Dictionary<string, string> Always(JsonElement same, Dictionary<string, string> columns, string path, IReadOnlyList<BookColumn> known)
    {
        // What happened to one contract on its day is the same for no two of them.
        var fit = known.Where(column => column.Path is not null || column.Name == "boughtBy").ToDictionary(column => column.Name, StringComparer.Ordinal);
        CsvMapping.Known(same, [.. fit.Keys], $"{path}always.");
        var always = Texts(same);
        foreach (var (name, value) in always)
        {
            if (columns.ContainsKey(name)) { throw CsvMapping.Fault($"{path}always.{name}", "it is a column already."); }
            var fits = fit[name].Form switch
            {
                BookForm.Number => int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out _),
                BookForm.Flag => value is "true" or "false",
                _ => value.Length > 0,
            };
            if (!fits) { throw CsvMapping.Fault($"{path}always.{name}", $"'{value}' is not written as a command file has it."); }
        }

        return always;
    }

    private static Dictionary<string, string> Texts(JsonElement element) =>
        element.EnumerateObject().ToDictionary(one => one.Name, one => one.Value.GetString() ?? "", StringComparer.Ordinal);
}
