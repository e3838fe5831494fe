using System.Runtime.CompilerServices;

namespace Contracts.Tests.House;

/// <summary>The checked-out repository, for tests that hold its shape.</summary>
internal static class Repository
{
    public static string Root { get; } = Find();

    public static IEnumerable<string> Sources(string folder) =>
        Directory.EnumerateFiles(Path.Combine(Root, folder), "*.cs", SearchOption.AllDirectories)
            .Where(file => !file.Split(Path.DirectorySeparatorChar).Any(part => part is "bin" or "obj"));

    private static string Find([CallerFilePath] string here = "")
    {
        var folder = Path.GetDirectoryName(here);
        while (folder is not null && !File.Exists(Path.Combine(folder, "Contracts.sln"))) { folder = Path.GetDirectoryName(folder); }
        return folder ?? throw new InvalidOperationException("The tests run from a checked-out repository.");
    }
}
