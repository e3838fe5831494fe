using System.Runtime.CompilerServices;
using Xunit;

namespace Contracts.Tests.Support;

/// <summary>Files that hold what was once read by a person and found right. CONTRACTS_GOLDEN=write writes them anew; then read the difference.</summary>
internal static class Golden
{
    /// <summary>The checked-out repository.</summary>
    public static string Root { get; } = FindRoot();

    public static void Same(string file, string text)
    {
        var path = Path.Combine(Root, file);
        if (Environment.GetEnvironmentVariable("CONTRACTS_GOLDEN") == "write") { File.WriteAllText(path, text); }
        Assert.Equal(File.ReadAllText(path), text);
    }

    private static string FindRoot([CallerFilePath] string here = "")
    {
        var root = Path.GetDirectoryName(here);
        while (!File.Exists(Path.Combine(root!, "Contracts.sln"))) { root = Path.GetDirectoryName(root); }
        return root!;
    }
}
