using System.Text.Json;
using Contracts.Agreements;
using Contracts.Disclosures;
using NodaTime;
using NodaTime.Text;

namespace Contracts.TakeOver;

/// <summary>
/// What the shop says its book comes to at the end of a day: how many contracts, and sums of money figures by their paths in an account. They are taken from
/// the old book, not from the files that are taken over, so that a line left out shows.
/// </summary>
/// <param name="AsOf">The day.</param>
/// <param name="Contracts">How many contracts the book has, ended ones included; null where the shop does not say.</param>
/// <param name="Open">How many of them run, on hold or not; null where the shop does not say.</param>
/// <param name="Sums">The sums that the shop says, by the path of the figure.</param>
public sealed record ControlTotals(LocalDate AsOf, int? Contracts, int? Open, IReadOnlyList<(string Figure, Money Sum)> Sums)
{
    /// <summary>The figures a total can be of: the money figures of an account.</summary>
    public static IReadOnlyList<string> Figures { get; } = [.. Portfolio.Figures.Select(figure => figure.Path)];

    /// <summary>A money figure of an account by its path.</summary>
    /// <param name="account">The account.</param>
    /// <param name="figure">One of <see cref="Figures"/>.</param>
    public static Money Of(Account account, string figure) => Portfolio.Figures.First(one => one.Path == figure).Of(account);

    /// <summary>Reads a JSON object such as <c>{"asOf":"2026-10-31","contracts":30,"equity":"1234.00"}</c>; exactly one of the two answers is given.</summary>
    /// <param name="json">The bytes of the file.</param>
    public static (ControlTotals? Totals, Refusal? Refusal) Read(ReadOnlyMemory<byte> json)
    {
        if (json.Span.StartsWith("\uFEFF"u8)) { json = json[3..]; }
        try
        {
            using var document = JsonDocument.Parse(json, new JsonDocumentOptions { MaxDepth = 2 });
            return Read(document.RootElement);
        }
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return (null, Wrong("totals", "it is not a JSON object of texts and whole numbers."));
        }
    }

    private static (ControlTotals? Totals, Refusal? Refusal) Read(JsonElement root)
    {
        var (asOf, contracts, open) = ((LocalDate?)null, (int?)null, (int?)null);
        var sums = new List<(string Figure, Money Sum)>();
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (var property in root.EnumerateObject())
        {
            var name = property.Name;
            if (!seen.Add(name)) { return (null, Wrong(name, "it is given twice.")); }
            switch (name)
            {
                case "asOf" when LocalDatePattern.Iso.Parse(property.Value.GetString() ?? "") is { Success: true } day: asOf = day.Value; break;
                case "contracts" when property.Value.TryGetInt32(out var count) && count >= 0: contracts = count; break;
                case "open" when property.Value.TryGetInt32(out var count) && count >= 0: open = count; break;
                case "asOf": return (null, Wrong(name, "it is a day such as 2026-10-31."));
                case "contracts" or "open": return (null, Wrong(name, "it is a whole number."));
                case var figure when Figures.Contains(figure):
                    if (property.Value.ValueKind != JsonValueKind.String || !Money.TryParse(property.Value.GetString()!, out var sum))
                    {
                        return (null, Wrong(name, "it must be dollars and whole cents in quotes, such as \"38.00\"."));
                    }

                    sums.Add((figure, sum));
                    break;
                default: return (null, Wrong(name, $"there is no such total; there are asOf, contracts, open, {string.Join(", ", Figures)}."));
            }
        }

        if (asOf is not { } on) { return (null, Wrong("asOf", "control totals are of a day.")); }
        return sums.Count == 0
            ? (null, Wrong("totals", $"at least one sum of money must be given, to hold the book against: {string.Join(", ", Figures)}."))
            : (new ControlTotals(on, contracts, open, sums), null);
    }

    private static Refusal Wrong(string field, string why) => new(RefusalCode.BookMappingInvalid, $"Control totals, '{field}': {why}", field);
}
