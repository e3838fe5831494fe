using Contracts.Tests.House;
using Xunit;

namespace Contracts.Tests.Scenarios;

/// <summary>The accounts of fixtures/scenarios, whose figures were worked out by hand in the files themselves.</summary>
public sealed class ScenarioTests
{
    private static string Folder => Path.Combine(Repository.Root, "fixtures", "scenarios");

    public static TheoryData<string> Files() =>
        [.. Directory.EnumerateFiles(Folder, "*.txt").Select(file => Path.GetFileNameWithoutExtension(file)).Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Files))]
    public void The_account_comes_out_as_worked_out_by_hand(string file)
    {
        var scenario = ScenarioFile.Play(File.ReadAllLines(Path.Combine(Folder, file + ".txt")));
        Assert.True(scenario.Faults.Count == 0, string.Join('\n', scenario.Faults));
        Assert.True(scenario.Checked >= 8, $"{file} compares only {scenario.Checked} figures.");
    }

    [Fact]
    public void A_wrong_figure_is_found()
    {
        var scenario = ScenarioFile.Play(
        [
            "terms", "  instrument: flute SF-1", "  purchase price: 52.00", "  monthly rent: 26.00",
            "2026-01-01 tax untaxed 0 from 2026-01-01 on nothing", "2026-09-05 sign", "2026-09-05 pay 26.00",
            "on 2026-09-05: equity 26.01, past due 0.00",
        ]);
        Assert.Equal(["line 8: equity is 26.00, told was 26.01"], scenario.Faults);
    }

    [Fact]
    public void A_line_that_tells_nothing_known_is_not_passed_over() =>
        Assert.Throws<FormatException>(() => ScenarioFile.Play(["2026-09-05 polish the trumpet"]));
}
