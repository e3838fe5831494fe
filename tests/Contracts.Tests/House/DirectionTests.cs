using System.Text.RegularExpressions;
using Contracts.Agreements;
using Xunit;

namespace Contracts.Tests.House;

/// <summary>The pure project stays pure, and its folders depend on each other one way.</summary>
public sealed partial class DirectionTests
{
    /// <summary>What each folder of src/Contracts may use, beside itself and the root's Money and Rate.</summary>
    private static readonly Dictionary<string, string[]> MayUse = new(StringComparer.Ordinal)
    {
        ["Instruments"] = ["Agreements"],
        ["Fleet"] = ["Agreements", "History", "Instruments", "Payments", "Terms"],
        ["Law"] = [],
        // A refusal is the one thing terms, histories and decisions share, and it lives with the agreements.
        ["Compliance"] = ["Instruments", "Law", "Terms"],
        ["Terms"] = ["Agreements", "Law", "Schedule"],
        ["Schedule"] = ["Terms"],
        ["Payments"] = [],
        ["Agreements"] = ["Households", "Instruments", "Terms", "Payments", "History", "Equity", "Law", "Compliance", "Schedule"],
        ["History"] = ["Agreements", "Law", "Payments", "Schedule", "Terms", "Instruments"],
        ["Equity"] = ["History", "Law", "Schedule", "Terms"],
        ["Quotes"] = ["Agreements", "Compliance", "Equity", "History", "Instruments", "Payments", "Terms"],
        ["Disclosures"] = ["Agreements", "Equity", "History", "Law", "Payments", "Schedule", "Terms"],
        ["Explain"] = ["Agreements", "Disclosures", "Equity", "History", "Instruments", "Law", "Payments", "Schedule", "Terms"],
        ["Disputes"] = ["Agreements", "Disclosures", "Explain", "History", "Terms"],
        ["Papers"] = ["Agreements", "Disclosures", "Disputes", "Equity", "Explain", "History", "Instruments", "Law", "Payments", "Terms"],
        // Lives whole histories again by all the rules, and looks at every figure of them.
        ["Replays"] = ["Agreements", "Books", "Commands", "Disclosures", "Explain", "History", "Instruments", "Law", "Terms"],
        ["Books"] = ["Agreements", "History", "Instruments", "Payments", "Schedule", "Terms"],
        ["Calendars"] = [],
        ["DayWork"] = ["Agreements", "Calendars", "Disclosures", "Fleet", "History", "Payments"],
        // Bytes, hashes and signatures know no contract: a stranger can hold them against the history without the rules.
        ["Seals"] = [],
        ["Households"] = ["Agreements", "Disclosures", "Explain", "History", "Law", "Terms"],
        ["Proposals"] = ["Agreements"],
        ["Bank"] = ["Agreements", "Books", "Calendars", "Disclosures", "Equity", "History"],
        ["Commands"] = ["Agreements", "Households", "Instruments", "Proposals", "Terms"],
        ["WhatIf"] = ["Agreements", "Commands", "Compliance", "Disclosures", "Equity", "Explain", "History", "Law", "Payments", "Proposals", "Terms"],
        // A book becomes lines of a command file, and what they make is held against the figures of its accounts.
        ["TakeOver"] = ["Agreements", "Commands", "Disclosures", "History", "Payments", "Terms"],
        // The packet is a document: it knows no contract, so that its forms can be tried without one.
        ["Books/Packet"] = [],
        ["Books/Month"] = ["Agreements", "Books", "History", "Payments"],
    };

    [Fact]
    public void The_pure_project_references_the_runtime_NodaTime_and_Ed25519_only()
    {
        var references = typeof(ContractEvent).Assembly.GetReferencedAssemblies().Select(name => name.Name!);
        Assert.All(references, name => Assert.True(
            name is "NodaTime" or "BouncyCastle.Cryptography" || name.StartsWith("System.", StringComparison.Ordinal), $"{name} is not part of the pure rules."));
    }

    [Fact]
    public void Folders_use_only_what_the_table_allows()
    {
        var root = Path.Combine(Repository.Root, "src", "Contracts");
        foreach (var file in Repository.Sources("src/Contracts"))
        {
            var parts = Path.GetRelativePath(root, file).Split(Path.DirectorySeparatorChar);
            if (parts.Length < 2) { continue; }
            // A folder inside a folder may have a line of its own.
            Assert.True(
                (parts.Length > 2 && MayUse.TryGetValue($"{parts[0]}/{parts[1]}", out var allowed)) || MayUse.TryGetValue(parts[0], out allowed),
                $"Folder {parts[0]} is not in the table.");
            foreach (Match use in UsingLine().Matches(File.ReadAllText(file)))
            {
                var folder = use.Groups[1].Value;
                Assert.True(folder == parts[0] || allowed!.Contains(folder), $"{parts[0]} may not use {folder} ({file}).");
            }
        }
    }

    [Fact]
    public void One_file_uses_the_library_of_signatures() =>
        Assert.Equal(["Ed25519.cs"], Repository.Sources("src").Where(file => File.ReadAllText(file).Contains("BouncyCastle", StringComparison.Ordinal))
            .Select(Path.GetFileName));

    [Fact]
    public void Projects_depend_one_way()
    {
        Assert.DoesNotContain("ProjectReference", File.ReadAllText(Path.Combine(Repository.Root, "src/Contracts/Contracts.csproj")), StringComparison.Ordinal);
        // Its tests may look inside the store; the store itself knows no host.
        Assert.DoesNotContain(
            File.ReadLines(Path.Combine(Repository.Root, "src/Contracts.Store/Contracts.Store.csproj")),
            line => line.Contains("Contracts.Host", StringComparison.Ordinal) && !line.Contains("InternalsVisibleTo", StringComparison.Ordinal));
    }

    [GeneratedRegex(@"^using (?:\w+ = )?Contracts\.(\w+)(?:\.\w+)*;", RegexOptions.Multiline)]
    private static partial Regex UsingLine();
}
