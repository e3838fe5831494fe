using System.Globalization;
using System.Runtime.InteropServices;

namespace Contracts.Store.Embedded;

/// <summary>Files and pipes that our caller left open for us.</summary>
internal static class InheritedFiles
{
    private const int SetDescriptorFlags = 2;
    private const int CloseOnExec = 1;

    /// <summary>
    /// Keeps them from programs we start. A server would hold them for as long as it lives,
    /// and whoever reads the other end of such a pipe would wait as long.
    /// </summary>
    public static void KeepFromChildren()
    {
        // Elsewhere this function takes its last argument in another way, so it is not called.
        if (!OperatingSystem.IsLinux())
        {
            return;
        }
        foreach (var entry in Directory.GetFiles("/proc/self/fd"))
        {
            // Input, output and errors are set anew for every child.
            if (int.TryParse(Path.GetFileName(entry), NumberStyles.None, CultureInfo.InvariantCulture, out var descriptor) && descriptor > 2)
            {
                // A descriptor that was closed meanwhile answers with an error, which is as good.
                _ = Control(descriptor, SetDescriptorFlags, CloseOnExec);
            }
        }
    }

    [DllImport("libc", EntryPoint = "fcntl")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Control(int descriptor, int command, int argument);
}
