using System.Collections.Immutable;
using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;

namespace Contracts.Law;

/// <summary>Reads a pack's file. A file with any fault gives no pack at all: nothing is adopted in part.</summary>
public static class LawPackReader
{
    /// <summary>The version of the file's own form.</summary>
    private const int Form = 1;

    private static readonly Dictionary<string, TextRead> ReadWords = new()
    {
        ["whole"] = TextRead.Whole, ["partial"] = TextRead.Partial, ["memory"] = TextRead.Memory,
    };

    private static readonly Dictionary<string, Verified> VerifiedWords = new()
    {
        ["read"] = Verified.Read, ["partly-read"] = Verified.PartlyRead, ["from-memory"] = Verified.FromMemory,
    };

    private static readonly Dictionary<string, Treatment> Treatments = new()
    {
        ["rental-purchase-act"] = Treatment.RentalPurchaseAct,
        ["rental-purchase-act-and-credit-sale-law"] = Treatment.RentalPurchaseActAndCreditSaleLaw,
        ["short-term-lease-act"] = Treatment.ShortTermLeaseAct,
        ["credit-sale"] = Treatment.CreditSale,
        ["credit-sale-if-test-met"] = Treatment.CreditSaleIfTestMet,
        ["federal-boundary"] = Treatment.FederalBoundary,
    };

    /// <summary>The pack in a file, or what is wrong with it.</summary>
    /// <param name="bytes">The file, JSON in UTF-8.</param>
    /// <param name="file">Its name, for the faults.</param>
    public static (LawPack? Pack, IReadOnlyList<PackFault> Faults) Read(ReadOnlyMemory<byte> bytes, string file) => Read(bytes, file, earlier: false, stored: false);

    /// <summary>The pack in a file that was adopted: what was taken over once can be read for ever, whatever words came to mean something since.</summary>
    /// <param name="bytes">The file, JSON in UTF-8.</param>
    /// <param name="file">Its name, for the faults.</param>
    public static (LawPack? Pack, IReadOnlyList<PackFault> Faults) ReadStored(ReadOnlyMemory<byte> bytes, string file) => Read(bytes, file, earlier: false, stored: true);

    /// <summary>The same for packs of earlier programs: those that stand for the time before packs were recorded have version 0 and round to the nearest cent.</summary>
    internal static (LawPack? Pack, IReadOnlyList<PackFault> Faults) Read(ReadOnlyMemory<byte> bytes, string file, bool earlier, bool stored)
    {
        var faults = new List<PackFault>();
        try
        {
            using var document = JsonDocument.Parse(bytes, new JsonDocumentOptions { AllowDuplicateProperties = false });
            if (document.RootElement.ValueKind != JsonValueKind.Object) { return (null, [new PackFault(file, "pack", "", "is not a JSON object.")]); }
            var pack = Read(new PackFields(document.RootElement, file, "pack", faults), file, Convert.ToHexStringLower(SHA256.HashData(bytes.Span)), earlier, faults);
            if (stored) { faults.RemoveAll(fault => fault.IsOnlyAWord); }
            return faults.Count == 0 ? (pack with { File = bytes }, faults) : (null, faults);
        }
        catch (InvalidOperationException)
        {
            // What the parser says, late, of names and texts that are not Unicode.
            return (null, [new PackFault(file, "pack", "", "has a name or a text that is not Unicode.")]);
        }
        catch (JsonException broken)
        {
            return (null, [new PackFault(file, "pack", "", $"is not JSON: {broken.Message}")]);
        }
    }

    private static LawPack Read(PackFields fields, string file, string digest, bool earlier, List<PackFault> faults)
    {
        if (fields.Whole("pack", 1_000) != Form) { fields.Fault("pack", $"must be {Form}, the form of file that this program reads."); }
        var jurisdiction = fields.Text("jurisdiction");
        if (jurisdiction.Length > 0 && !States.HasPack(jurisdiction))
        {
            fields.Fault("jurisdiction", $"'{jurisdiction}' is not the postal code of a state, nor a name beginning with US-.");
        }

        var sources = Sources(fields, file, faults);
        var named = sources.Keys.ToList();
        var rules = fields.Objects("rules").Select((rule, index) =>
        {
            var place = string.Create(CultureInfo.InvariantCulture, $"rules[{index}] {Kind(rule)}");
            return RuleReader.Read(new PackFields(rule.Item, file, place, faults), named);
        }).ToImmutableArray();
        var version = fields.Whole("version", 1_000_000);
        if (version is null || (version == 0 && !earlier)) { fields.Fault("version", "must be a whole number from 1 on."); }
        var nearest = fields.OptionalText("rounding") == "nearest" && earlier;
        var pack = new LawPack(
            jurisdiction, fields.Text("name"), fields.Text("act"), version ?? 0, fields.Day("from"), fields.Word("verified", ReadWords, required: true),
            fields.Word("treatment", Treatments, required: true), Scope(fields.Object("scope")), [.. fields.Words("openPoints")], rules, sources, digest)
        {
            RoundsToNearest = nearest,
        };
        if (fields.OptionalText("rounding") is not (null or "down") && !nearest) { fields.Fault("rounding", "must be down: a limit that is rounded up would be exceeded."); }
        fields.Keep("instruments");
        fields.End();
        foreach (var (field, detail) in RuleOverlaps.In(pack)) { fields.Fault(field, detail); }
        return pack;
    }

    private static string Kind(PackFields rule) => rule.Item.TryGetProperty("kind", out var kind) ? kind.ToString() : "(no kind)";

    private static LawScope? Scope(PackFields? fields)
    {
        if (fields is null) { return null; }
        fields.Keep("use", "renewsWithPayment", "renewsByItself", "noDutyPastFirstTerm", "mayOwn", "dollarLine");
        var scope = new LawScope(
            fields.Whole("firstTermAtMostMonths", 1200), [.. fields.Words("exclusions")], fields.Text("citation"), fields.Word("verified", VerifiedWords, required: true));
        fields.End();
        return scope;
    }

    private static ImmutableDictionary<string, LawSource> Sources(PackFields fields, string file, List<PackFault> faults)
    {
        var sources = ImmutableDictionary.CreateBuilder<string, LawSource>(StringComparer.Ordinal);
        if (fields.Object("sources") is not { } part) { return sources.ToImmutable(); }
        foreach (var field in part.Item.EnumerateObject())
        {
            var name = $"sources.{field.Name}";
            if (field.Value.ValueKind != JsonValueKind.Object) { part.Fault(field.Name, "must be an object."); continue; }
            var source = new PackFields(field.Value, file, name, faults);
            sources[field.Name] = new LawSource(source.Text("text"), source.Text("how"), source.Text("asOf"), source.Flag("wholeAct", false));
            source.End();
        }

        return sources.ToImmutable();
    }
}
