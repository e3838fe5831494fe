using Xunit;

namespace Contracts.Tests.House;

/// <summary>Style that a machine can hold, so that reviews need not.</summary>
public sealed class TidyTests
{
    private const int LongestFile = 250;
    private const int LongestLine = 180;

    [Fact]
    public void Source_files_keep_to_one_subject() =>
        Assert.All(Repository.Sources("src"), file => Assert.True(
            File.ReadLines(file).Count() <= LongestFile, $"{file} has more than {LongestFile} lines."));

    [Fact]
    public void Lines_fit_a_screen_and_nothing_is_left_to_do() =>
        Assert.All(Repository.Sources("src"), file =>
        {
            var number = 0;
            foreach (var line in File.ReadLines(file))
            {
                number++;
                Assert.True(line.Length <= LongestLine, $"{file}:{number} is longer than {LongestLine} columns.");
                Assert.False(
                    line.Contains("TODO", StringComparison.Ordinal) || line.Contains("FIXME", StringComparison.Ordinal),
                    $"{file}:{number} leaves something to do.");
            }
        });

    [Fact]
    public void The_top_level_is_what_the_readme_promises()
    {
        string[] expected =
        [
            "Contracts.sln", "DEVELOPERS.md", "Directory.Build.props", "Directory.Packages.props", "README.md",
            "docker-compose.yml", "docs", "fixtures", "global.json", "src", "tests",
        ];
        var found = Directory.EnumerateFileSystemEntries(Repository.Root).Select(Path.GetFileName)
            .Where(name => !name!.StartsWith('.') && name is not ("bin" or "obj" or "TestResults" or "artifacts"));
        Assert.Equal(expected, found.Order(StringComparer.Ordinal));
    }
}
