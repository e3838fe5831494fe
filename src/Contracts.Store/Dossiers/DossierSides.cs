using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>Takes what stands beside the events out of a dossier's files.</summary>
internal static class DossierSides
{
    /// <summary>The parts with what stands beside, or null where a file is not as it is written; what is extra is missed when all files are made again.</summary>
    public static DossierParts? Parse(SortedDictionary<string, byte[]> files, DossierParts parts)
    {
        var heads = ImmutableArray.CreateBuilder<EarlierHead>();
        var papers = ImmutableArray.CreateBuilder<PaperPart>();
        var stamps = ImmutableArray.CreateBuilder<StampPart>();
        foreach (var (name, bytes) in files)
        {
            if (Inside(name, DossierFiles.EarlierFolder, ".txt") is not null)
            {
                if (!files.TryGetValue(name[..^".txt".Length] + ".proof", out var proof)) { return null; }
                heads.Add(new EarlierHead(bytes, proof));
            }
            else if (Inside(name, DossierFiles.StampsFolder, ".tst") is { } numbers)
            {
                var parted = numbers.Split('.');
                if (parted.Length != 2 || Checkpoint.Decimal(parted[0]) is not { } size || Checkpoint.Decimal(parted[1]) is not ({ } number and >= 1 and <= 1000)) { return null; }
                stamps.Add(new StampPart(size, (int)number, bytes));
            }
            else if (Inside(name, DossierFiles.PapersFolder, ".html") is { } digits)
            {
                if (!int.TryParse(digits, NumberStyles.None, CultureInfo.InvariantCulture, out var version)) { return null; }
                papers.Add(new PaperPart(version, bytes));
            }
        }

        if (files.ContainsKey(DossierFiles.MonthEnd) != files.ContainsKey(DossierFiles.MonthEndProof)) { return null; }
        if (Facts(files) is not { } facts) { return null; }
        return parts with
        {
            Earlier = [.. heads.OrderBy(head => DossierFiles.SizeOf(head.Note))],
            MonthEnd = files.TryGetValue(DossierFiles.MonthEnd, out var anchor) ? new MonthEndPart(anchor, files[DossierFiles.MonthEndProof]) : null,
            Stamps = [.. stamps.OrderBy(stamp => stamp.Size).ThenBy(stamp => stamp.Number)],
            Papers = [.. papers.OrderBy(paper => paper.Version)],
            Disclosures = facts,
        };
    }

    private static ImmutableArray<string>? Facts(SortedDictionary<string, byte[]> files)
    {
        if (!files.TryGetValue(DossierFiles.Disclosures, out var bytes)) { return []; }
        return DossierParser.Lines(bytes) is { Count: > 0 } lines ? [.. lines.Select(Encoding.UTF8.GetString)] : null;
    }

    private static string? Inside(string name, string folder, string ending) =>
        name.StartsWith(folder, StringComparison.Ordinal) && name.EndsWith(ending, StringComparison.Ordinal) ? name[folder.Length..^ending.Length] : null;
}
